"""The command line: what is printed where, and how a command ends."""

import json

import pytest

from pipeline import __version__
from pipeline.base.errors import Exit
from pipeline.cli.main import main

SMALL = ["--sites", "1", "--months", "1"]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("cli") / "saltmarsh"
    assert main(["demo", str(folder), *SMALL, "--quiet"]) == Exit.DONE
    return folder


def test_a_run_prints_a_line_a_step_and_ends_with_the_page(demo, capsys):
    assert main(["run", "--folder", str(demo), "--as-of", "2026-10-30"]) == Exit.DONE
    told = capsys.readouterr()
    assert "[measure]" in told.err
    assert "[ render]" in told.err
    assert told.out.splitlines()[-1] == f"Open {demo}/pages/latest/index.html"


def test_a_quiet_run_logs_only_warnings(demo, capsys):
    assert main(["run", "--folder", str(demo), "--as-of", "2026-10-29", "--quiet"]) == Exit.DONE
    assert "[measure]" not in capsys.readouterr().err


def test_a_run_for_machines_ends_with_one_line_of_json(demo, capsys):
    main(["run", "--folder", str(demo), "--as-of", "2026-10-31", "--json"])
    record = json.loads(capsys.readouterr().out)
    assert record["exit_code"] == Exit.DONE
    assert record["new_files"] == 0


def test_a_folder_without_declarations_is_told_in_sentences(tmp_path, capsys):
    assert main(["run", "--folder", str(tmp_path)]) == Exit.CONFIGURATION
    told = capsys.readouterr().err
    assert [line.split(":")[0] for line in told.splitlines()[:3]] == [
        "network.toml",
        "sites.csv",
        "units.csv",
    ]
    assert "Traceback" not in told


def test_declarations_without_a_fault_are_counted(demo, capsys):
    assert main(["check-config", "--folder", str(demo)]) == Exit.DONE
    assert "Sites: 1" in capsys.readouterr().out


def test_the_version_is_told(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out == f"holdtime {__version__}\n"
