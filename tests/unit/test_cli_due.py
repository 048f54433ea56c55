"""The commands due and lookback on a small network: text, JSON, the list, and what is not there."""

import csv
import json

import pytest

from pipeline.base.errors import Exit
from pipeline.cli.main import main


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("due") / "saltmarsh"
    assert main(["demo", str(folder), "--sites", "1", "--months", "1", "--quiet"]) == Exit.DONE
    return folder


def serial_of(folder) -> str:
    with (folder / "units.csv").open(encoding="utf-8-sig", newline="") as stream:
        return next(csv.DictReader(stream))["unit_serial"]


def test_what_falls_due_is_printed_and_given_to_machines(demo, capsys):
    assert main(["due", "--folder", str(demo), "--days", "400", "--json"]) == Exit.DONE
    rows = json.loads(capsys.readouterr().out)
    assert main(["due", "--folder", str(demo), "--days", "400"]) == Exit.DONE
    told = capsys.readouterr().out

    assert {"Spore test"} < {row["what"] for row in rows}
    assert all(row["unit_serial"] in told for row in rows)
    assert len(told.splitlines()) >= len(rows) + 2


def test_a_site_that_is_not_in_the_register_is_told(demo, capsys):
    code = main(["due", "--folder", str(demo), "--site", "nowhere"])

    assert code == Exit.CONFIGURATION
    assert 'There is no site "nowhere"' in capsys.readouterr().err


def test_the_loads_of_a_unit_are_printed_and_written_to_a_list(demo, tmp_path, capsys):
    serial, path = serial_of(demo), tmp_path / "loads.csv"
    assert main(["lookback", serial, "--folder", str(demo), "--csv", str(path)]) == Exit.DONE
    told = capsys.readouterr().out

    with path.open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert told.startswith(f"{serial}, ")
    assert "a licensed person decides" in told
    assert rows
    assert {row["unit_serial"] for row in rows} == {serial}
    assert all(row["load_id"] in told for row in rows)


def test_a_unit_that_is_not_in_the_register_is_told(demo, capsys):
    assert main(["lookback", "SI-9", "--folder", str(demo)]) == Exit.CONFIGURATION
    assert 'There is no unit "SI-9"' in capsys.readouterr().err
