"""Text of lists that people open in a spreadsheet: guarded, and in an encoding that it knows.

A cell of text that a spreadsheet would take for a formula gets an apostrophe before it. Numbers
stay numbers.
"""

import csv
import io
import re
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import TextIO

Value = str | int | float | date | None

_LIVE = re.compile(r"^[ ]*[=+\-@\t\r\n＝＋－＠]")
"""What a spreadsheet takes for a formula, full-width forms too. Source: OWASP, CSV Injection."""


def guarded(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{text}" if _LIVE.match(text) else text


def csv_bytes(columns: Iterable[str], rows: Iterable[Iterable[Value]]) -> bytes:
    """A CSV with a byte order mark, without which spreadsheets guess the encoding, and wrongly.

    Days and instants are written as ISO 8601 has them, what is missing as nothing.
    """
    stream = io.StringIO(newline="")
    _write_rows(stream, columns, rows)
    return stream.getvalue().encode("utf-8-sig")


def write_csv(path: Path, columns: Iterable[str], rows: Iterable[Iterable[Value]]) -> Path:
    """Write the bytes of csv_bytes row by row: a long list is never in memory whole; the path."""
    with path.open("w", encoding="utf-8-sig", newline="") as stream:
        _write_rows(stream, columns, rows)
    return path


def _write_rows(stream: TextIO, columns: Iterable[str], rows: Iterable[Iterable[Value]]) -> None:
    writer = csv.writer(stream, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(list(columns))
    writer.writerows([_cell(value) for value in row] for row in rows)


def _cell(value: Value) -> str | int | float:
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    return guarded(value) if isinstance(value, str) else value
