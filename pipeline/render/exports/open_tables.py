"""Every measure as CSV and as Parquet, with a dictionary that says what each column means.

The CSV is for spreadsheets, so text in it is guarded against being taken for a formula; the
Parquet holds the very values.
"""

import io
import re
from collections.abc import Iterator

import duckdb
import polars as pl

from pipeline.base.csv_text import csv_bytes
from pipeline.render.tables.spoken import MESSAGES, spoken_columns
from pipeline.warehouse.statements import Statement, statements

DICTIONARY = "dictionary.csv"

_ENTRY = re.compile(r"-- ([a-z]\w*(?:, [a-z]\w*)*)(?: {2,}(.+))?$")
_MORE = re.compile(r"-- {2,}(.+)$")


def open_tables(con: duckdb.DuckDBPyConnection) -> Iterator[tuple[str, bytes]]:
    """File name and bytes of each result table, in two formats, and of the dictionary."""
    entries: list[tuple[str, str, str, str]] = []
    for definition in statements("result"):
        order = definition.header_value("order") or definition.header_value("key")
        rows = con.sql(f"FROM measure.{definition.name} ORDER BY {order}").pl()
        rows = spoken_columns(rows, MESSAGES.get(definition.name, ()))
        yield f"{definition.name}.csv", csv_bytes(rows.columns, rows.iter_rows())
        yield f"{definition.name}.parquet", _parquet(rows)
        said = meanings(definition)
        entries += [
            (definition.name, column, str(dtype), said.get(column, ""))
            for column, dtype in rows.schema.items()
        ]
    yield DICTIONARY, csv_bytes(("table", "column", "type", "meaning"), entries)


def meanings(definition: Statement) -> dict[str, str]:
    """What a header says of its table's columns; those whose names say it all are not there."""
    said: dict[str, str] = {}
    names: list[str] = []
    for line in definition.header.splitlines():
        if entry := _ENTRY.fullmatch(line):
            names = entry[1].split(", ")
            said |= dict.fromkeys(names, entry[2] or "")
        elif more := _MORE.fullmatch(line):
            said |= {name: f"{said[name]} {more[1]}".strip() for name in names}
    return {name: " ".join(text.split()) for name, text in said.items()}


def _parquet(rows: pl.DataFrame) -> bytes:
    stream = io.BytesIO()
    rows.write_parquet(stream, compression="zstd")
    return stream.getvalue()
