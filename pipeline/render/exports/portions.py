"""The rows of a query, so many at a time: an export of a large network is never in memory whole."""

from collections.abc import Iterator, Mapping
from typing import Any

import duckdb
import polars as pl
import pyarrow as pa

AT_ONCE = 50_000
"""Rows of a portion; those of the widest export take some 30 MB, with what is made of them."""


def portions(
    con: duckdb.DuckDBPyConnection, query: str, given: Mapping[str, Any] | None = None
) -> Iterator[pl.DataFrame]:
    """Frames of AT_ONCE rows in the order of the query, the last with the rest; at least one.

    Where a portion ends depends on the rows alone, and not on how the engine hands them over. The
    connection is busy until the last.
    """
    source = con.sql(query, params=given or {}).to_arrow_reader(AT_ONCE)
    waiting = source.schema.empty_table()
    for batch in source:
        waiting = pa.concat_tables([waiting, pa.Table.from_batches([batch])])
        while waiting.num_rows > AT_ONCE:
            yield _frame(waiting[:AT_ONCE])
            waiting = waiting[AT_ONCE:]
    yield _frame(waiting)


def _frame(rows: pa.Table) -> pl.DataFrame:
    frame = pl.from_arrow(rows)
    assert isinstance(frame, pl.DataFrame)
    return frame
