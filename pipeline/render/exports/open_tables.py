"""Every measure as CSV and as Parquet, with a dictionary that says what each column means.

The CSV is for spreadsheets, so text in it is guarded against being taken for a formula; the
Parquet holds the very values.
"""

import re
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

import duckdb
import polars as pl
import pyarrow.parquet as pq

from pipeline.base.csv_text import Value, write_csv
from pipeline.render.exports.portions import portions
from pipeline.render.tables.spoken import MESSAGES, spoken_columns
from pipeline.warehouse.statements import Statement, statements

DICTIONARY = "dictionary.csv"

_ENTRY = re.compile(r"-- ([a-z]\w*(?:, [a-z]\w*)*)(?: {2,}(.+))?$")
_MORE = re.compile(r"-- {2,}(.+)$")


def write_open_tables(con: duckdb.DuckDBPyConnection, folder: Path) -> list[Path]:
    """Write each result table in two formats, and the dictionary, into a folder; the paths."""
    written: list[Path] = []
    entries: list[tuple[str, str, str, str]] = []
    for definition in statements("result"):
        name, said = definition.name, meanings(definition)
        both = folder / f"{name}.csv", folder / f"{name}.parquet"
        for column, dtype in _write_both(con, definition, *both).items():
            entries.append((name, column, str(dtype), said.get(column, "")))
        written += both
    columns = ("table", "column", "type", "meaning")
    return [*written, write_csv(folder / DICTIONARY, columns, entries)]


def _write_both(
    con: duckdb.DuckDBPyConnection, definition: Statement, lists: Path, values: Path
) -> pl.Schema:
    """Write the rows of a table, read once, as CSV and as Parquet; its columns."""
    order = definition.header_value("order") or definition.header_value("key")
    messages = MESSAGES.get(definition.name, ())
    found = portions(con, f"FROM measure.{definition.name} ORDER BY {order}")
    frames = (spoken_columns(frame, messages) for frame in found)
    first = next(frames)

    def rows(writer: pq.ParquetWriter) -> Iterator[tuple[Value, ...]]:
        for frame in chain([first], frames):
            writer.write_table(frame.to_arrow())
            yield from frame.iter_rows()

    with pq.ParquetWriter(values, first.to_arrow().schema, compression="zstd") as writer:
        write_csv(lists, first.columns, rows(writer))
    return first.schema


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
