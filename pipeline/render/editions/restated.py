"""What a new edition of a month says otherwise than the one before, and which logs came since."""

from pathlib import Path

import polars as pl

from pipeline.base.csv_text import csv_bytes
from pipeline.render.editions.manifest import logs_of
from pipeline.render.paths import MEASURES
from pipeline.warehouse.statements import statement

RESTATED = "restated.csv"
_COLUMNS = ("what", "key", "column", "before", "now")
_COMPARED = ("finding", "ranking", "state")
_NOT_COMPARED = {"urgency", "position_low", "position_high", "position_count", "p_worse"}
"""Places among the others move when any other does; they are no statement about the subject."""


def restated(before: Path, now: Path) -> list[tuple[str, str, str, str, str]]:
    """Each statement that differs between two editions, then each log that only one rests on.

    Rows of what, key, column, before, now; what is missing on one side is empty there.
    """
    rows: list[tuple[str, str, str, str, str]] = []
    for table in _COMPARED:
        old, new = (_keyed(folder, table) for folder in (before, now))
        for key in sorted(old.keys() | new.keys()):
            left, right = old.get(key, {}), new.get(key, {})
            rows += [
                (table, key, column, left.get(column, ""), right.get(column, ""))
                for column in sorted(left.keys() | right.keys())
                if left.get(column, "") != right.get(column, "")
            ]
    old_logs, new_logs = set(logs_of(before)), set(logs_of(now))
    rows += [("log", path, "sha256", sha, "") for path, sha in sorted(old_logs - new_logs)]
    rows += [("log", path, "sha256", "", sha) for path, sha in sorted(new_logs - old_logs)]
    return rows


def write_restated(before: Path, now: Path) -> Path | None:
    """Put the list of differences into the new edition; None when there is none."""
    rows = restated(before, now)
    if not rows:
        return None
    path = now / RESTATED
    path.write_bytes(csv_bytes(_COLUMNS, rows))
    return path


def _keyed(folder: Path, table: str) -> dict[str, dict[str, str]]:
    rows = pl.read_parquet(folder / MEASURES / f"{table}.parquet")
    key = str(statement("result", table).header_value("key")).split(", ")
    columns = [one for one in rows.columns if one not in key and one not in _NOT_COMPARED]
    return {
        "/".join(str(row[one]) for one in key): {
            column: "" if row[column] is None else _plain(row[column]) for column in columns
        }
        for row in rows.iter_rows(named=True)
    }


def _plain(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)
