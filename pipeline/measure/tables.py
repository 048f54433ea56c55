"""How tables are made from the model and how results are stored: always whole, and sorted."""

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise
from typing import Any

import duckdb
import polars as pl

from pipeline.measure.window import Window
from pipeline.warehouse.statements import Statement, in_order, statement, tables_read

UNITS_AT_ONCE = 2000
"""Of statements that name `$first_serial`."""


def build_facts(
    con: duckdb.DuckDBPyConnection, window: Window, asked: Iterable[str] | None = None
) -> None:
    """Make every table of schema fact anew, each after those it reads.

    Or those that are asked for, by their names, and what they stand on.
    """
    _new_schema(con, "fact")
    facts = in_order(con, "fact")
    wanted = {one.table for one in facts} if asked is None else {f"fact.{name}" for name in asked}
    for one in reversed(facts):
        if one.table in wanted:
            wanted |= tables_read(con, one.text)
    for one in facts:
        if one.table in wanted:
            build_fact(con, one, window)


def build_fact(con: duckdb.DuckDBPyConnection, one: Statement, window: Window) -> None:
    """Make one table, or view, of schema fact; sorted, unless only facts read it."""
    if str(one.header_value("rebuilt")).startswith("never"):
        con.execute(f"CREATE VIEW {one.table} AS {window.written_into(one.text)}")
        return
    is_read_in_order = not str(one.header_value("order")).startswith("none")
    order = f"ORDER BY {one.header_value('key')}" if is_read_in_order else ""
    made = f"CREATE TABLE {one.table} AS"
    for part in _portions(con, window) if "first_serial" in one.parameters else [window]:
        con.execute(f"{made} FROM ({one.text}) {order}", part.parameters(one.parameters))
        made = f"INSERT INTO {one.table}"


def _portions(con: duckdb.DuckDBPyConnection, window: Window) -> list[Window]:
    """The window for some units after the others: medians of all at once need more than memory."""
    first = con.execute(
        """
        SELECT unit_serial,
        FROM model.unit
        QUALIFY row_number() OVER (ORDER BY unit_serial) % $at_once = 1
        ORDER BY unit_serial
        """,
        {"at_once": UNITS_AT_ONCE},
    ).fetchall()
    # A cycle of a unit that nobody registered lies between two that are.
    ends = [window.first_serial, *(serial for (serial,) in first[1:]), window.beyond_serial]
    return [replace(window, first_serial=low, beyond_serial=high) for low, high in pairwise(ends)]


def read(con: duckdb.DuckDBPyConnection, select: str, **parameters: Any) -> pl.DataFrame:
    """Rows of a SELECT as a frame."""
    return con.sql(select, params=parameters).pl()


def prepare_results(con: duckdb.DuckDBPyConnection) -> None:
    """Begin the result tables anew, so that none of the last build can be left standing."""
    _new_schema(con, "measure")


def write(con: duckdb.DuckDBPyConnection, table: str, rows: pl.DataFrame) -> None:
    """Store a result table as sql/result/ defines it, sorted by its key or the order it names."""
    definition = statement("result", table)
    order = definition.header_value("order") or definition.header_value("key")
    con.execute(definition.text)
    if rows.is_empty():
        return
    con.register("result_rows", rows)
    con.execute(f"INSERT INTO measure.{table} BY NAME FROM result_rows ORDER BY {order}")
    con.unregister("result_rows")


def _new_schema(con: duckdb.DuckDBPyConnection, schema: str) -> None:
    """Make a schema without tables and views.

    Not by DROP SCHEMA: one that is dropped and made twice in one transaction, as when two days are
    measured in a run, cannot be committed (DuckDB 2.0.1).
    """
    con.execute(f"CREATE SCHEMA IF NOT EXISTS {schema}")
    made = con.execute(
        """
        SELECT 'TABLE', table_name,
        FROM duckdb_tables()
        WHERE schema_name = $schema AND database_name = current_database()
        UNION ALL
        SELECT 'VIEW', view_name,
        FROM duckdb_views()
        WHERE schema_name = $schema AND database_name = current_database()
        ORDER BY ALL
        """,
        {"schema": schema},
    ).fetchall()
    for kind, name in made:
        con.execute(f"DROP {kind} {schema}.{name}")
