"""The spreadsheet beside the pages: findings, sites, units, tests, tasks, and notes on them.

Nothing in it is live: text is stored as text, whatever it looks like. Rows are written out as they
are read, which leaves no room for what a spreadsheet calls a table: its filter, its stripes and its
heading are made of parts.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, time
from functools import partial
from itertools import chain, islice
from pathlib import Path
from typing import Any

import polars as pl
import xlsxwriter

from pipeline.base.phrases import known, listed, phrase
from pipeline.render.exports.portions import portions
from pipeline.render.tables.reader import Reader
from pipeline.render.tables.spoken import changed_columns, spoken_columns
from pipeline.render.words import day, printable
from pipeline.warehouse.statements import statement

SHEETS = ("findings", "sites", "units", "tests", "tasks")
"""Each is one SELECT of sql/export/, and in this order."""

MOST_ROWS = 1_048_575
"""Rows below the header that a sheet holds. Source: ECMA-376, 1,048,576 rows a worksheet."""

_MOST_TEXT = 32_767
"""Characters that a cell holds; the rest of a longer text is cut off. Common limit, from memory."""

_CODES = {
    "state": "state_word",
    "kind": "kind",
    "air_removal": "air_removal",
    "task": "task",
    "purpose": "purpose",
    "result": "test_state",
}
"""Columns of codes, and where words.toml says what each code is called."""

_MESSAGES = ("why", "next_step", "reason")
"""Columns of messages; no sheet has one of these names that is anything else."""

_OPTIONS = {
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "nan_inf_to_errors": False,
}
_STRIPES = "=MOD(ROW(),2)=0"
"""Which rows are shaded: a condition and no format of theirs, so that sorting does not mix them."""
_STRIPE = "#D9D9D9"


def write_workbook(reader: Reader, path: Path) -> None:
    """Write the workbook; its bytes depend on the tables and the day alone."""
    # Beside the pages, because a temporary folder may be in memory.
    with xlsxwriter.Workbook(path, _OPTIONS | {"tmpdir": str(path.parent)}) as book:
        # The time of writing would be in the bytes otherwise.
        book.set_properties({"created": datetime.combine(reader.as_of, time())})
        left_out = {name: _write_sheet(book, name, _frames(reader, name)) for name in SHEETS}
        _write_notes(book, _notes(reader, left_out))


def _frames(reader: Reader, name: str) -> Iterator[pl.DataFrame]:
    """The rows of sql/export/<name>.sql, codes in words, columns by their names in SQL."""
    query = statement("export", name)
    for rows in portions(reader.con, query.text, reader.parameters(query)):
        said = spoken_columns(rows, _MESSAGES)
        said = changed_columns(said, {one: partial(known, table) for one, table in _CODES.items()})
        texts = said.select(pl.col(pl.String)).columns
        yield changed_columns(said, dict.fromkeys(texts, _plain))


def _plain(text: str) -> str:
    plain = printable(text)[:_MOST_TEXT]
    # xlsxwriter 3.3 takes such a text for markup of its own, and would write it as it stands.
    return f" {plain}"[:_MOST_TEXT] if plain.startswith("<r>") else plain


def _write_sheet(book: xlsxwriter.Workbook, name: str, frames: Iterator[pl.DataFrame]) -> int:
    """Write the rows that a sheet holds below their titles; how many there was no room for."""
    first = next(frames)
    sheet = book.add_worksheet(phrase(f"workbook.sheet.{name}"))
    sheet.freeze_panes(1, 0)
    heading = book.add_format({"bold": True, "top": 1, "bottom": 1})
    formats = [book.add_format(_format(column, of)) for column, of in first.schema.items()]
    for place, column in enumerate(first.columns):
        sheet.set_column_pixels(place, place, _width(column))
        sheet.write_string(0, place, phrase(f"workbook.column.{column}"), heading)
    rows = (row for frame in chain([first], frames) for row in frame.iter_rows())
    count = 0
    for count, row in enumerate(islice(rows, MOST_ROWS), start=1):
        for place, value in enumerate(row):
            if isinstance(value, str):
                sheet.write_string(count, place, value, formats[place])
            elif isinstance(value, date):
                sheet.write_datetime(count, place, value, formats[place])
            elif value is not None:
                sheet.write_number(count, place, value, formats[place])
    last = len(first.columns) - 1
    sheet.autofilter(0, 0, count, last)
    shaded = book.add_format({"bg_color": _STRIPE})
    sheet.conditional_format(
        1, 0, max(count, 1), last, {"type": "formula", "criteria": _STRIPES, "format": shaded}
    )
    return sum(1 for _ in rows)


def _format(column: str, dtype: pl.DataType) -> dict[str, Any]:
    """How the values of a column are shown."""
    shown = {"valign": "vcenter"}
    if column.endswith("_share"):
        shown["num_format"] = "0.0%"
    elif dtype == pl.Date:
        shown["num_format"] = "yyyy-mm-dd"
    elif dtype.is_integer():
        shown["num_format"] = "0"
    return shown


def _width(column: str) -> int:
    """In pixels: sentences get a wide column, which no reader must make for himself."""
    if column in ("why", "next_step", "reason", "source"):
        return 480
    return 200 if column.endswith(("_name", "path", "sha256")) else 120


def _notes(reader: Reader, left_out: dict[str, int]) -> list[str]:
    group = printable(reader.network.name)
    notes = [phrase("workbook.title", group=group, day=day(reader.as_of))]
    if reader.network.is_invented:
        notes.append(phrase("frame.invented"))
    notes += [
        phrase("workbook.left_out", number, sheet=phrase(f"workbook.sheet.{name}"))
        for name, number in left_out.items()
        if number
    ]
    return [*notes, *listed("workbook.notes"), *listed("cautions.short")]


def _write_notes(book: xlsxwriter.Workbook, notes: Sequence[str]) -> None:
    sheet = book.add_worksheet(phrase("workbook.sheet.notes"))
    wrapped = book.add_format({"text_wrap": True, "valign": "top"})
    sheet.set_column(0, 0, 110)
    for line, note in enumerate(notes):
        sheet.write_string(line, 0, note, wrapped)
