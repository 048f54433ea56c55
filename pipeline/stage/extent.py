"""Refuses workbooks that would unpack to far more than a clinic's log.

A small file can name one cell at the far corner of a sheet, and reading it then makes room for
every cell up to there; or it can be packed so that it unpacks without end.
"""

import io
import re
import zipfile
from collections.abc import Iterator

from pipeline.base.errors import FileError

MOST_BYTES = 1 << 30
MOST_CELLS = 20_000_000

_XLSX_CELL = re.compile(rb"""\br\s*=\s*["']([A-Za-z]{1,3})([0-9]{1,7})["']""")
_ODS_ROW = re.compile(rb"<table:table-row\b([^>]*?)(?:/>|>(.*?)</table:table-row>)", re.DOTALL)
_ODS_REPEATED = {
    name: re.compile(rb"""table:number-%s-repeated\s*=\s*["']([0-9]{1,9})["']""" % name)
    for name in (b"rows", b"columns")
}
_ODS_CELL = re.compile(rb"<table:(?:covered-)?table-cell\b")


def check_extent(data: bytes) -> None:
    """Raise FileError for a workbook that is too large once unpacked; says nothing of its kind."""
    if not data.startswith(b"PK"):
        return
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            members = package.infolist()
            total = sum(member.file_size for member in members)
            if total > MOST_BYTES:
                raise FileError(
                    f"The workbook unpacks to {total:,} bytes, more than {MOST_BYTES:,}. "
                    "Send it in parts."
                )
            for member in members:
                if member.filename.endswith(".bin") and "workbook" in member.filename:
                    raise FileError("The workbook is binary (.xlsb). Save it as .xlsx.")
                if member.filename.endswith(".xml"):
                    _check_cells(member.filename, package.read(member))
    except (
        zipfile.BadZipFile,
        zipfile.LargeZipFile,
        RuntimeError,
        NotImplementedError,
        OSError,
        EOFError,
        ValueError,
    ) as error:
        raise FileError(f"The workbook is damaged: {error}. Send it again.") from None


def _check_cells(name: str, xml: bytes) -> None:
    corners = _ods_corners(xml) if name.endswith("content.xml") else _xlsx_corners(xml)
    row_count = column_count = 0
    for row, column in corners:
        row_count, column_count = max(row_count, row), max(column_count, column)
        if row_count * column_count > MOST_CELLS:
            raise FileError(
                f"A sheet reaches to row {row_count:,} and column {column_count:,}; that is more "
                f"than {MOST_CELLS:,} cells. Delete what lies beyond the log, or send it in parts."
            )


def _xlsx_corners(xml: bytes) -> Iterator[tuple[int, int]]:
    for letters, digits in set(_XLSX_CELL.findall(xml)):
        column = 0
        for letter in letters.upper():
            column = column * 26 + letter - 64
        yield int(digits), column


def _ods_corners(xml: bytes) -> Iterator[tuple[int, int]]:
    row = 0
    for attributes, cells in _ODS_ROW.findall(xml):
        repeated = _ODS_REPEATED[b"rows"].search(attributes)
        row += int(repeated[1]) if repeated else 1
        # Office programs end each sheet with repeated empty cells, which take no room.
        if b"office:value" in cells or b"<text:p" in cells:
            widths = _ODS_REPEATED[b"columns"].findall(cells)
            yield row, len(_ODS_CELL.findall(cells)) + sum(map(int, widths))
