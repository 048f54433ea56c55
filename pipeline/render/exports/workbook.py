"""The spreadsheet beside the pages: findings, sites, units, tests, tasks, and notes on them.

Nothing in it is live: text is stored as text, whatever it looks like.
"""

from collections.abc import Sequence
from datetime import datetime, time
from functools import partial
from io import BytesIO
from typing import Any

import duckdb
import polars as pl
import xlsxwriter

from pipeline.base.phrases import known, listed, phrase
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
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "nan_inf_to_errors": False,
}
_FORMATS: dict[Any, str] = {pl.Date: "yyyy-mm-dd", pl.Int64: "0", pl.Int32: "0"}


def workbook(con: duckdb.DuckDBPyConnection, reader: Reader) -> bytes:
    """The bytes of the workbook; they depend on the tables and the day alone."""
    stream = BytesIO()
    with xlsxwriter.Workbook(stream, _OPTIONS) as book:
        # The time of writing would be in the bytes otherwise.
        book.set_properties({"created": datetime.combine(reader.as_of, time())})
        left_out = {}
        for name in SHEETS:
            rows = sheet_rows(con, reader, name)
            left_out[name] = max(rows.height - MOST_ROWS, 0)
            _write_rows(book, name, rows.head(MOST_ROWS))
        _write_notes(book, _notes(reader, left_out))
    return stream.getvalue()


def sheet_rows(con: duckdb.DuckDBPyConnection, reader: Reader, name: str) -> pl.DataFrame:
    """The rows of sql/export/<name>.sql, codes in words, columns by their names in SQL."""
    query = statement("export", name)
    rows = con.sql(query.text, params=reader.parameters(query)).pl()
    rows = spoken_columns(rows, _MESSAGES)
    rows = changed_columns(rows, {one: partial(known, table) for one, table in _CODES.items()})
    return changed_columns(rows, dict.fromkeys(rows.select(pl.col(pl.String)).columns, _plain))


def _plain(text: str) -> str:
    return printable(text)[:_MOST_TEXT]


def _write_rows(book: xlsxwriter.Workbook, name: str, rows: pl.DataFrame) -> None:
    titles = {column: phrase(f"workbook.column.{column}") for column in rows.columns}
    shares = [titles[column] for column in rows.columns if column.endswith("_share")]
    rows.rename(titles).write_excel(
        book,
        phrase(f"workbook.sheet.{name}"),
        table_name=name,
        table_style="Table Style Light 1",
        dtype_formats=_FORMATS,
        column_formats=dict.fromkeys(shares, "0.0%"),
        column_widths={titles[column]: _width(column) for column in rows.columns},
        freeze_panes=(1, 0),
    )


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
