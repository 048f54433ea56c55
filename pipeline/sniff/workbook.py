"""Workbooks: which sheet holds the table, and on which row is its header."""

import io
import zipfile
from typing import Any

import polars as pl

from pipeline.base.errors import FileError
from pipeline.sniff.table import as_frame, header_place, number_marks
from pipeline.sniff.totals import skip_pattern

_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_PARTS = {"xl/workbook.xml", "content.xml", "xl/workbook.bin"}
_MOST_ROWS = 2000
_FIRST_ROWS = 40
_MOST_BYTES = 64 * 1024 * 1024
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
    except (zipfile.BadZipFile, ValueError, OSError):
        return False


def read_workbook(data: bytes) -> Found:
    """Settings, rows and notes of the sheet with the most rows below a header."""
    from python_calamine import CalamineError, CalamineWorkbook

    _check_extent(data)
    best: tuple[int, str, int, list[list[str]]] | None = None
    try:
        with CalamineWorkbook.from_filelike(io.BytesIO(data)) as workbook:
            names = workbook.sheet_names
            for name in names[:20]:
                cells = workbook.get_sheet_by_name(name).to_python(skip_empty_area=False)
                rows = [[_text(cell) for cell in row] for row in cells[:_MOST_ROWS]]
                width = max((sum(map(bool, row)) for row in rows), default=0)
                header = header_place(rows[:_FIRST_ROWS], width)
                if header is not None and (best is None or len(rows) - header > best[0]):
                    best = (len(rows) - header, name, header, rows)
    except CalamineError as error:
        raise FileError(f"The file is no readable workbook: {error}. Send it again.") from None
    if best is None:
        return {}, pl.DataFrame(), ["no row of any sheet looks like a header."]
    _, name, header, rows = best
    columns = [cell.strip() for cell in rows[header]]
    frame = as_frame(columns, [row for row in rows[header + 1 :] if any(row)])
    settings: dict[str, Any] = {} if name == names[0] else {"sheet": name}
    notes = [] if len(names) == 1 else [f"{len(names)} sheets; the table seems to be on {name!r}."]
    if skip := skip_pattern(row[0] for row in rows[header + 1 :] if row):
        settings["skip"] = skip
    if header:
        settings["header_line"] = header + 1
        notes.append(f"the header seems to be on row {header + 1}.")
    return settings | number_marks(frame), frame, notes


def _check_extent(data: bytes) -> None:
    if not data.startswith(b"PK"):
        return
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        size = sum(one.file_size for one in package.infolist())
    if size > _MOST_BYTES:
        raise FileError(
            f"The workbook unpacks to {size:,} bytes, which is too much to look at. Save a copy "
            "with fewer rows, and try that."
        )


def _text(cell: Any) -> str:
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return cell.isoformat() if hasattr(cell, "isoformat") else str(cell)
