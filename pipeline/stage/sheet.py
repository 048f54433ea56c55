"""Spreadsheets: their cells as text. A real date becomes ISO 8601; 17.0 becomes 17.

Lines are a sheet's rows, counted from 1 and on from one sheet to the next. Nothing is calculated: a
formula counts by the value that was stored with it.
"""

from collections.abc import Iterator, Sequence

import polars as pl

from pipeline.base.errors import FileError
from pipeline.config.network import Feed
from pipeline.stage.layout import is_layout
from pipeline.stage.parts import FILE, LINE, Account, Part, Section, require, sources
from pipeline.stage.workbook import Asked, Rows, Sheet, open_workbooks


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """One part for each file."""
    opened = open_workbooks(files, Asked.of(feed.format.settings))
    for position, sheets in enumerate(opened):
        try:
            if isinstance(sheets, FileError):
                raise sheets
            yield _read(position, sheets, feed)
        except FileError as error:
            yield Part({position: Account(reason=str(error))})


def _read(file: int, sheets: Sequence[Sheet], feed: Feed) -> Part:
    """The rows of all sheets; one of several may be empty."""
    frames, sections = list[pl.DataFrame](), list[Section]()
    account, offset = Account(), 0
    for one in sheets:
        if not any(map(_is_filled, one.rows)):
            continue
        try:
            part, frame = _sheet(file, one.rows, feed)
        except FileError as error:
            raise error if len(sheets) == 1 else FileError(f'Sheet "{one.name}": {error}') from None
        frames.append(frame.with_columns(pl.col(LINE) + offset))
        if len(sheets) > 1:
            sections.append(Section(file, offset, f'sheet "{one.name}"'))
        account += part
        offset += len(one.rows)
    if not frames:
        raise FileError("The sheet is empty. Send it again, or name the sheet in the feed.")
    account += Account(last_line=offset)
    rows = {feed.kind: pl.concat(frames, how="diagonal")}
    return Part({file: account}, rows, sections=tuple(sections))


def _sheet(file: int, rows: Rows, feed: Feed) -> tuple[Account, pl.DataFrame]:
    header_line = feed.format.settings.get("header_line", 1)
    filled = [i for i, row in enumerate(rows) if _is_filled(row)]
    if len(rows) < header_line:
        raise FileError(
            f"The header is declared to be on row {header_line:,}, but the sheet ends after "
            f"{len(rows):,}. Send it whole, or change the feed's header_line."
        )
    header = rows[header_line - 1]
    names = [(cell or "").strip() for cell in header]
    require(feed.columns, names, f"The header on row {header_line:,}")
    skipped = _skipped(rows, feed)
    records = [i for i in filled if i >= header_line and rows[i] != header and i not in skipped]
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
    return Account(len(filled), len(filled) - len(records), len(records)), frame


def _is_filled(row: Sequence[str | None]) -> bool:
    return any(cell is not None for cell in row)


def _skipped(rows: Rows, feed: Feed) -> set[int]:
    """Rows that the feed declares as layout, by their cells with a blank between each two."""
    if "skip" not in feed.format.settings:
        return set()
    lines = pl.DataFrame({"line": [" ".join(cell for cell in row if cell) for row in rows]})
    is_gone = lines.select(is_layout(pl.col("line"), feed.format.settings)).to_series()
    return set(is_gone.arg_true())
