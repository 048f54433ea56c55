"""Spreadsheets: one sheet, its cells as text. A real date becomes ISO 8601; 17.0 becomes 17.

Lines are the sheet's rows, counted from 1. Nothing is calculated: a formula counts by the value
that was stored with it.
"""

from collections.abc import Iterator, Sequence

import polars as pl

from pipeline.base.errors import FileError
from pipeline.config.network import Feed
from pipeline.stage.parts import FILE, LINE, Account, Part, require, sources
from pipeline.stage.workbook import Rows, open_workbooks


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """One part for each file."""
    settings = feed.format.settings
    opened = open_workbooks(files, settings.get("sheet"), settings.get("decimal", "."))
    for position, rows in enumerate(opened):
        try:
            if isinstance(rows, FileError):
                raise rows
            yield _read(position, rows, feed)
        except FileError as error:
            yield Part({position: Account(reason=str(error))})


def _read(file: int, rows: Rows, feed: Feed) -> Part:
    header_line = feed.format.settings.get("header_line", 1)
    filled = [i for i, row in enumerate(rows) if any(cell is not None for cell in row)]
    if not filled:
        raise FileError("The sheet is empty. Send it again, or name the sheet in the feed.")
    if len(rows) < header_line:
        raise FileError(
            f"The sheet has {len(rows):,} rows, but its header is declared to be on row "
            f"{header_line:,}. Send it whole, or change the feed's header_line."
        )
    header = rows[header_line - 1]
    names = [(cell or "").strip() for cell in header]
    require(feed.columns, names, f"The header on row {header_line:,}")
    records = [i for i in filled if i >= header_line and rows[i] != header]
    wanted = {name: names.index(name) for name in sources(feed.columns) if name in names}
    columns = {
        name: pl.Series([rows[i][column] for i in records], dtype=pl.String)
        for name, column in wanted.items()
    }
    frame = pl.DataFrame(
        {FILE: pl.Series([file] * len(records), dtype=pl.UInt32)}
        | {LINE: pl.Series([i + 1 for i in records], dtype=pl.Int64)}
        | columns
    )
    account = Account(len(filled), len(filled) - len(records), len(records))
    return Part({file: account}, {feed.kind: frame})
