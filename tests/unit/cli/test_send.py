"""The commands that write to people, as a scheduler starts them."""

import email
import email.policy
import shutil
from datetime import datetime
from pathlib import Path

import pytest

from pipeline.base.errors import Exit
from pipeline.cli import clock
from pipeline.cli.main import main
from pipeline.cli.record import read_records
from pipeline.warehouse.connection import open_file

MAIL = """
[mail]
from = "Saltmarsh reports <reports@saltmarsh.example>"
folder = "letters"
[schedule]
time_zone = "Europe/London"
[[recipient]]
address = "lead@saltmarsh.example"
role = "group"
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("send") / "saltmarsh"
    assert main(["demo", str(folder), "--sites", "1", "--months", "1", "--quiet"]) == Exit.DONE
    with (folder / "network.toml").open("a", encoding="utf-8") as stream:
        stream.write(MAIL)
    return folder


@pytest.fixture
def folder(made, tmp_path) -> Path:
    return Path(shutil.copytree(made, tmp_path / "saltmarsh"))


@pytest.fixture
def at(monkeypatch):
    """Set the clock of the commands."""

    def set_to(instant: str) -> None:
        now_utc = datetime.fromisoformat(instant)
        monkeypatch.setattr(clock, "now_utc", lambda: now_utc)
        monkeypatch.setattr(clock, "yesterday", lambda: now_utc.date())

    return set_to


def letters(folder: Path) -> list[str]:
    read = [
        email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
        for path in sorted((folder / "letters").glob("*.eml"))
    ]
    return [one["Subject"] for one in read]


def test_letters_leave_when_they_are_due_and_not_again(folder, at, capsys):
    send = ["send", "--if-due", "--quiet", "--folder", str(folder)]
    at("2026-11-08T23:30:00")
    assert main(send) == Exit.DONE
    assert "The letters of 2026-10 are due on 2026-11-09" in capsys.readouterr().out
    assert letters(folder) == []
    at("2026-11-09T06:30:00")
    assert main(send) == Exit.DONE
    (subject,) = letters(folder)
    assert subject.startswith("October 2026, Saltmarsh Isles Clinics: ")
    assert main(send) == Exit.DONE
    assert "Every letter of 2026-10 has left" in capsys.readouterr().out
    assert len(letters(folder)) == 1
    assert [one["command"] for one in read_records(folder / "state")] == ["send"] * 3


def test_a_month_that_is_not_over_has_no_letters(folder, at, capsys):
    at("2026-10-31T12:00:00")
    command = ["send", "--month", "2026-10", "--folder", str(folder)]
    assert main(command) == Exit.CONFIGURATION
    assert "2026-10 is not over" in capsys.readouterr().err


def test_a_hollow_letter_does_not_stand_in_the_way_of_the_whole_one(folder, at):
    at("2026-11-09T06:30:00")
    send = ["send", "--quiet", "--folder", str(folder)]
    main(["run", "--quiet", "--folder", str(folder)])
    with open_file(folder / "state" / "warehouse.duckdb") as con:
        con.execute("CREATE TABLE model.kept AS FROM model.check")
        con.execute("UPDATE model.check SET verdict = 'error', message = 'x'")
    main(["report", "--month", "2026-10", "--quiet", "--folder", str(folder)])
    assert main(send) == main(send) == Exit.LETTERS_LEFT
    (short,) = letters(folder)
    assert short.endswith("the report could not be made whole")
    assert main(["schedule", "check", "--folder", str(folder)]) == Exit.DONE
    at("2026-11-11T06:30:00")
    assert main(["schedule", "check", "--folder", str(folder)]) == Exit.LETTERS_LEFT
    with open_file(folder / "state" / "warehouse.duckdb") as con:
        con.execute("CREATE OR REPLACE TABLE model.check AS FROM model.kept")
        con.execute("DROP TABLE model.kept")
    main(["report", "--month", "2026-10", "--quiet", "--folder", str(folder)])
    assert main(send) == Exit.DONE
    assert len(letters(folder)) == 2
    assert main(["schedule", "check", "--folder", str(folder)]) == Exit.DONE


def test_a_network_without_readers_is_told_what_to_declare(made, tmp_path, capsys):
    folder = Path(shutil.copytree(made, tmp_path / "bare"))
    text = (folder / "network.toml").read_text(encoding="utf-8")
    (folder / "network.toml").write_text(text.split("[mail]")[0], encoding="utf-8")
    assert main(["send", "--folder", str(folder)]) == Exit.CONFIGURATION
    assert "has no [mail]" in capsys.readouterr().err


def test_the_check_is_loud_when_nothing_happened(folder, at, capsys):
    at("2026-11-11T09:00:00")
    assert main(["schedule", "check", "--folder", str(folder)]) == Exit.LETTERS_LEFT
    told = capsys.readouterr().err
    assert "No nightly run has ever ended well here" in told
    assert "The letters of 2026-10 were due on 2026-11-09" in told


def test_the_check_is_quiet_when_all_was_done_and_loud_two_days_later(folder, at, capsys):
    place = ["--quiet", "--folder", str(folder)]
    at("2026-11-10T02:30:00")
    main(["run", *place, "--as-of", "2026-10-31"])
    assert main(["send", *place]) == Exit.DONE
    assert main(["schedule", "check", "--folder", str(folder)]) == Exit.DONE
    at("2026-11-12T09:00:00")
    assert main(["schedule", "check", "--folder", str(folder)]) == Exit.LETTERS_LEFT
    told = capsys.readouterr().err
    assert "No nightly run has ended well since 2026-11-10 02:30 UTC" in told
    assert "letters of" not in told


@pytest.mark.parametrize("kind", ["systemd", "cron", "windows", "container"])
def test_a_plan_is_printed_or_written_into_a_folder(folder, tmp_path, capsys, kind):
    command = ["schedule", "print", kind, "--folder", str(folder)]
    assert main(command) == Exit.DONE
    printed = capsys.readouterr().out
    assert main([*command, "--into", str(tmp_path / "plan")]) == Exit.DONE
    for path in (tmp_path / "plan").iterdir():
        assert path.read_text(encoding="utf-8") in printed
