"""Workbooks: which sheet holds the table, and on which row is its header."""

import contextlib
import io
import json
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.base.errors import FileError
from pipeline.sniff.table import as_frame, header_place, number_marks
from pipeline.sniff.totals import skip_pattern

_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_PARTS = {"xl/workbook.xml", "content.xml", "xl/workbook.bin"}
_FIRST_ROWS = 40
_READER = Path(__file__).with_name("sheets.py")
_LONGEST_SECONDS = 60
Found = tuple[dict[str, Any], pl.DataFrame, list[str]]


def is_workbook(data: bytes) -> bool:
    """True for what begins as a workbook does: XLS by its mark, XLSX and ODS by their parts."""
    if data.startswith(_OLD):
        return True
    if not data.startswith(b"PK\x03\x04"):
        return False
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            return not _PARTS.isdisjoint(package.namelist())
    except Exception:  # A damaged package makes zipfile raise what it likes.
        return False


def read_workbook(data: bytes) -> Found:
    """Settings, rows and notes of the sheet with the most rows below a header."""
    sheets = _sheets(data)
    best: tuple[int, str, int, list[list[str]]] | None = None
    for name, rows in sheets:
        width = max((sum(map(bool, row)) for row in rows), default=0)
        header = header_place(rows[:_FIRST_ROWS], width)
        if header is not None and (best is None or len(rows) - header > best[0]):
            best = (len(rows) - header, name, header, rows)
    if best is None:
        return {}, pl.DataFrame(), ["no row of any sheet looks like a header."]
    _, name, header, rows = best
    columns = [cell.strip() for cell in rows[header]]
    frame = as_frame(columns, [row for row in rows[header + 1 :] if any(row)])
    settings: dict[str, Any] = {} if name == sheets[0][0] else {"sheet": name}
    notes = [] if len(sheets) == 1 else [f"{len(sheets)} sheets; the table seems to be {name!r}."]
    if header:
        settings["header_line"] = header + 1
        notes.append(f"the header seems to be on row {header + 1}.")
    if skip := skip_pattern(row[0] for row in rows[header + 1 :] if row):
        settings["skip"] = skip
    return settings | number_marks(frame), frame, notes


def _sheets(data: bytes) -> list[tuple[str, list[list[str]]]]:
    told = b""
    with contextlib.suppress(subprocess.TimeoutExpired):
        told = subprocess.run(
            [sys.executable, "-I", str(_READER)],
            input=data,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=_LONGEST_SECONDS,
            check=False,
        ).stdout
    answer: dict[str, Any] = {"fault": "it breaks the reader"}
    if told.endswith(b"\n"):
        answer = json.loads(told)
    if "fault" in answer:
        raise FileError(
            f"The file is no readable workbook: {answer['fault']}. Save it as .xlsx and try again."
        )
    return [(name, rows) for name, rows in answer["sheets"]]
