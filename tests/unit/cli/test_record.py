"""What a command leaves for those who watch over it, read back by the reader of others."""

import argparse
import json
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from pipeline.base.errors import BusyError, ConfigurationError, Exit
from pipeline.base.lock import alone
from pipeline.cli.guarded import guarded
from pipeline.cli.record import METRICS, RECORDS, read_records, tell, write_record

STARTED, ENDED = datetime(2026, 11, 9, 6, 30), datetime(2026, 11, 9, 6, 31, 30)


def record(folder: Path, name: str, code: int = 0, **told: int) -> None:
    parsed = argparse.Namespace(name=name)
    tell(parsed, **told)
    write_record(folder, parsed, code, STARTED, ENDED)


def read(folder: Path) -> dict[tuple[str, str, str], float]:
    """Every sample by metric, command and fate."""
    text = (folder / METRICS).read_text(encoding="utf-8")
    return {
        (one.name, one.labels["command"], one.labels.get("fate", "")): one.value
        for family in text_string_to_metric_families(text)
        for one in family.samples
    }


def test_a_record_is_one_line_of_json(tmp_path):
    record(tmp_path, "run", Exit.DATA_HELD, used=1903, held=1)
    record(tmp_path, "send", letters_sent=3)
    first, second = (tmp_path / RECORDS).read_text(encoding="utf-8").splitlines()
    assert json.loads(first) == {
        "command": "run",
        "version": json.loads(first)["version"],
        "started_utc": "2026-11-09T06:30:00Z",
        "ended_utc": "2026-11-09T06:31:30Z",
        "exit_code": 30,
        "used": 1903,
        "held": 1,
    }
    assert json.loads(second)["letters_sent"] == 3


def test_the_metrics_are_what_a_reader_of_openmetrics_takes(tmp_path):
    """Source: OpenMetrics 1.0, as prometheus-client reads it."""
    record(tmp_path, "run", Exit.DATA_HELD, used=1903, held=1, duplicates=0, new_files=4)
    record(tmp_path, "send", Exit.LETTERS_LEFT, letters_sent=3, letters_left=2)
    found = read(tmp_path)
    assert found["holdtime_run_exit_code", "run", ""] == 30
    assert found["holdtime_run_duration_seconds", "send", ""] == 90
    # 2026-11-09T06:31:30Z, by `date -u -d @1794205890`.
    assert found["holdtime_run_ended_timestamp_seconds", "run", ""] == 1794205890
    assert found["holdtime_lines", "run", "used"] == 1903
    assert found["holdtime_lines", "run", "duplicate"] == 0
    assert found["holdtime_letters", "send", "left"] == 2
    assert ("holdtime_letters", "run", "sent") not in found


def test_only_the_last_of_each_command_is_in_the_metrics(tmp_path):
    record(tmp_path, "run", used=5)
    record(tmp_path, "run", used=7)
    assert read(tmp_path)["holdtime_lines", "run", "used"] == 7


def test_a_line_that_was_cut_short_is_passed_over(tmp_path):
    record(tmp_path, "run", used=5)
    with (tmp_path / RECORDS).open("a", encoding="utf-8") as stream:
        stream.write('{"command": "se\n')
    record(tmp_path, "send", letters_sent=1)
    assert [one["command"] for one in read_records(tmp_path)] == ["run", "send"]


HOLD = """
import sys
from pathlib import Path
from pipeline.base.lock import alone
with alone(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


def test_a_second_process_is_told_that_another_is_at_work(tmp_path):
    lock = tmp_path / "run.lock"
    command = [sys.executable, "-c", HOLD, str(lock)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        assert other.stdout.readline().strip() == b"held"
        with pytest.raises(BusyError, match="another run is at work"), alone(lock):
            pytest.fail("two were inside")
        other.kill()
        other.wait()
        # The system takes the lock of the dead back.
        with alone(lock):
            pass


@pytest.fixture
def parsed(tmp_path):
    from tests.unit.config import conftest as right

    for name, text in (
        ("network.toml", right.NETWORK),
        ("sites.csv", right.SITES),
        ("units.csv", right.UNITS),
    ):
        (tmp_path / name).write_text(text, encoding="utf-8")
    return argparse.Namespace(folder=tmp_path)


ENDS = [
    # what the command does                     how it is recorded
    (lambda parsed: Exit.DATA_HELD, 30),
    (lambda parsed: exec("raise ConfigurationError(['x'])", globals()), 10),
    (lambda parsed: 1 / 0, 50),
]


@pytest.mark.parametrize(("command", "code"), ENDS)
def test_a_command_leaves_a_record_however_it_ends(parsed, command, code):
    try:
        assert guarded("run", command)(parsed) == code
    except (ConfigurationError, ZeroDivisionError):
        assert code != 30
    (one,) = read_records(parsed.folder / "state")
    assert (one["command"], one["exit_code"]) == ("run", code)


def test_a_command_that_finds_another_at_work_leaves_none(parsed):
    with alone(parsed.folder / "state" / "run.lock"), pytest.raises(BusyError):
        guarded("run", lambda parsed: Exit.DONE)(parsed)
    assert read_records(parsed.folder / "state") == []
