"""Spreadsheets: one sheet, its cells as text. A real date becomes ISO 8601; 17.0 becomes 17.

Lines are the sheet's rows, counted from 1. Nothing is calculated: a formula counts by the value
that was stored with it.
"""

import io
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

import polars as pl
from python_calamine import CalamineError, CalamineWorkbook

from pipeline.base.errors import FileError
from pipeline.config.network import Feed
from pipeline.stage.extent import check_extent
from pipeline.stage.parts import FILE, LINE, Account, Part, require, sources


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """One part for each file."""
    for position, data in enumerate(files):
        try:
            yield _read(position, data, feed)
        except FileError as error:
            yield Part({position: Account(reason=str(error))})


def _read(file: int, data: bytes, feed: Feed) -> Part:
    settings = feed.format.settings
    decimal, header_line = settings.get("decimal", "."), settings.get("header_line", 1)
    rows = _rows(data, settings.get("sheet"))
    filled = [i for i, row in enumerate(rows) if any(cell != "" for cell in row)]
    if not filled:
        raise FileError("The sheet is empty. Send it again, or name the sheet in the feed.")
    if len(rows) < header_line:
        raise FileError(
            f"The sheet has {len(rows):,} rows, but its header is declared to be on row "
            f"{header_line:,}. Send it whole, or change the feed's header_line."
        )
    header = rows[header_line - 1]
    names = [(_text(cell, decimal) or "").strip() for cell in header]
    require(feed.columns, names, f"The header on row {header_line:,}")
    records = [i for i in filled if i >= header_line and rows[i] != header]
    frame = pl.DataFrame(
        {
            name: pl.Series(
                [_text(rows[i][names.index(name)], decimal) for i in records], dtype=pl.String
            )
            for name in sources(feed.columns)
            if name in names
        }
        | {LINE: pl.Series([i + 1 for i in records], dtype=pl.Int64)}
    )
    account = Account(len(filled), len(filled) - len(records), len(records))
    return Part(
        {file: account}, {feed.kind: frame.with_columns(pl.lit(file, pl.UInt32).alias(FILE))}
    )


def _rows(data: bytes, sheet: str | None) -> list[list[Any]]:
    if not data:
        raise FileError("The file is empty (0 bytes). Send it again.")
    check_extent(data)
    try:
        with CalamineWorkbook.from_filelike(io.BytesIO(data)) as workbook:
            names = workbook.sheet_names
            if sheet is not None and sheet not in names:
                found = ", ".join(f'"{name[:40]}"' for name in names[:20])
                raise FileError(
                    f'The workbook has no sheet "{sheet}"; found: {found}. '
                    "Rename the sheet, or change the feed."
                )
            if not names:
                raise FileError("The workbook has no sheet. Send it again.")
            chosen = workbook.get_sheet_by_name(sheet or names[0])
            return chosen.to_python(skip_empty_area=False)
    except CalamineError as error:
        raise FileError(f"The file is no readable workbook: {error}. Send it again.") from None


def _text(cell: Any, decimal: str) -> str | None:
    """What a cell holds, as the mapping reads text; None for an empty cell."""
    if cell == "":
        return None
    if isinstance(cell, bool):
        return str(cell).lower()
    if isinstance(cell, float):
        # Every whole number comes as a float; beyond 15 digits Excel itself does not keep them.
        is_whole = cell.is_integer() and abs(cell) < 1e15
        return str(int(cell)) if is_whole else repr(cell).replace(".", decimal)
    if isinstance(cell, datetime | date | time):
        return cell.isoformat()
    if isinstance(cell, timedelta):
        seconds = cell.total_seconds()
        return f"{int(seconds // 3600):02}:{int(seconds // 60 % 60):02}:{seconds % 60:02g}"
    return str(cell)
