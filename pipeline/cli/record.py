"""What is left of a command for those who watch over it: one line of JSON, and metrics.

`runs.jsonl` gets a line at the end of each command; `holdtime.prom` has the last of each, for a
collector of text files. Source of its form: OpenMetrics 1.0.
"""

import argparse
import json
import os
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pipeline import __version__
from pipeline.base.files import write_whole

RECORDS, METRICS = "runs.jsonl", "holdtime.prom"
_GAUGES = {
    "ended_timestamp_seconds": "When the command last ended.",
    "duration_seconds": "How long it took.",
    "exit_code": "How it ended; 0 is done, README lists the others.",
}  # fmt: skip
_COUNTED = {
    "new_files": ("files", "new"), "rejected_files": ("files", "rejected"),
    "unreachable_sources": ("sources", "unreachable"), "used": ("lines", "used"),
    "held": ("lines", "held"), "duplicates": ("lines", "duplicate"),
    "letters_sent": ("letters", "sent"), "letters_refused": ("letters", "refused"),
    "letters_left": ("letters", "left"), "letters_doubtful": ("letters", "doubtful"),
    "letters_held": ("letters", "held"),
}  # fmt: skip
"""Counts that a command may tell, as the metric and the label that they become."""
_HELP = {
    "files": "Log files of the last run.",
    "sources": "Locations of the last run.",
    "lines": "Lines of new files of the last run.",
    "letters": "Letters of the last command that sent any.",
}


def tell(parsed: argparse.Namespace, **counts: Any) -> None:
    """Keep what a command did for its record; counts only, never names of people or rows."""
    parsed.told = getattr(parsed, "told", {}) | counts


def write_record(
    state_folder: Path,
    parsed: argparse.Namespace,
    exit_code: int,
    started_utc: datetime,
    ended_utc: datetime,
) -> None:
    """Add the line of a command that ended, and write the metrics anew."""
    record = {
        "command": parsed.name,
        "version": __version__,
        "started_utc": _text(started_utc),
        "ended_utc": _text(ended_utc),
        "exit_code": int(exit_code),
        **getattr(parsed, "told", {}),
    }
    path = state_folder / RECORDS
    path.parent.mkdir(parents=True, exist_ok=True)
    # One write of one line, so that a reader never sees a part of it.
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644), "ab") as stream:
        stream.write(json.dumps(record).encode() + b"\n")
    write_whole(state_folder / METRICS, metrics(read_records(state_folder)).encode())


def read_records(state_folder: Path) -> list[dict[str, Any]]:
    """Every record, the oldest first; a line that was cut short is passed over."""
    path = state_folder / RECORDS
    found = []
    for line in path.read_bytes().splitlines() if path.is_file() else []:
        try:
            found.append(json.loads(line))
        except ValueError:
            continue
    return found


def metrics(records: list[dict[str, Any]]) -> str:
    """The last record of each command as OpenMetrics text."""
    last = {str(record["command"]): record for record in records}
    samples: dict[str, list[str]] = {f"run_{name}": [] for name in _GAUGES}
    helps = {f"run_{name}": text for name, text in _GAUGES.items()} | _HELP
    for command in sorted(last):
        record = last[command]
        ended, started = (_instant(record[key]) for key in ("ended_utc", "started_utc"))
        values = {
            "ended_timestamp_seconds": ended.timestamp(),
            "duration_seconds": (ended - started).total_seconds(),
            "exit_code": record["exit_code"],
        }
        for name, value in values.items():
            samples[f"run_{name}"].append(f'{{command="{command}"}} {value:.0f}')
        for key, (metric, label) in _COUNTED.items():
            if key in record:
                labels = f'{{command="{command}",fate="{label}"}}'
                samples.setdefault(metric, []).append(f"{labels} {record[key]}")
    lines = []
    for metric, found in samples.items():
        if found:
            name = f"holdtime_{metric}"
            lines += [f"# TYPE {name} gauge", f"# HELP {name} {helps[metric]}"]
            lines += [f"{name}{sample}" for sample in found]
    return "\n".join([*lines, "# EOF"]) + "\n"


def _text(instant_utc: datetime) -> str:
    return f"{instant_utc:%Y-%m-%dT%H:%M:%SZ}"


def _instant(text: str) -> datetime:
    return datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
