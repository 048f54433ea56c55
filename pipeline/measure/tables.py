"""How tables are made from the model and how results are stored: always whole, and sorted."""

from collections.abc import Iterable
from contextlib import nullcontext
from dataclasses import replace
from itertools import pairwise
from typing import Any

import duckdb
import polars as pl

from pipeline.measure.window import Window
from pipeline.warehouse.connection import rows_in_memory
from pipeline.warehouse.statements import Statement, in_order, statement, tables_read

UNITS_AT_ONCE = 2000
"""Of statements that name `$first_serial`."""


def build_facts(
    con: duckdb.DuckDBPyConnection, window: Window, asked: Iterable[str] | None = None
) -> None:
    """Make every table of schema fact anew, each after those it reads.

    Or those that are asked for, by their names, and what they stand on. A table that facts alone
    read is gone as soon as the last of them is made.
    """
    _new_schema(con, "fact")
    facts = in_order(con, "fact")
    wanted = {one.table for one in facts} if asked is None else {f"fact.{name}" for name in asked}
    for one in reversed(facts):
        if one.table in wanted:
            wanted |= tables_read(con, one.text)
    made = [one for one in facts if one.table in wanted]
    read_up, kept = read_up_by(con, made), set(asked or ())
    for one in made:
        build_fact(con, one, window)
        for done in read_up[one.table]:
            if done.name not in kept:
                drop_fact(con, done)


def build_fact(con: duckdb.DuckDBPyConnection, one: Statement, window: Window) -> None:
    """Make one table, or view, of schema fact; sorted, unless only facts read it."""
    if _is_view(one):
        con.execute(f"CREATE VIEW {one.table} AS {window.written_into(one.text)}")
        return
    is_read_in_order = not str(one.header_value("order")).startswith("none")
    order = f"ORDER BY {one.header_value('key')}" if is_read_in_order else ""
    made = f"CREATE TABLE {one.table} AS"
    with rows_in_memory(con) if _is_passing(one) else nullcontext():
        for part in _portions(con, window) if "first_serial" in one.parameters else [window]:
            con.execute(f"{made} FROM ({one.text}) {order}", part.parameters(one.parameters))
            made = f"INSERT INTO {one.table}"


def read_up_by(con: duckdb.DuckDBPyConnection, made: list[Statement]) -> dict[str, list[Statement]]:
    """For each of these facts, in the order in which they are made, those it is the last to read.

    Of those alone that say in their header that they are not kept.
    """
    of_views: dict[str, frozenset[str]] = {}
    last: dict[str, str] = {}
    for one in made:
        direct = tables_read(con, one.text)
        reads = direct.union(*(of_views[view] for view in direct & of_views.keys()))
        if _is_view(one):
            of_views[one.table] = reads
        last |= dict.fromkeys(reads, one.table)
    read_up: dict[str, list[Statement]] = {one.table: [] for one in made}
    for one in made:
        if _is_passing(one) and one.table in last:
            read_up[last[one.table]].append(one)
    return read_up


def drop_fact(con: duckdb.DuckDBPyConnection, one: Statement) -> None:
    """Let go of a table, or view, of schema fact."""
    con.execute(f"DROP {'VIEW' if _is_view(one) else 'TABLE'} {one.table}")


def _is_view(one: Statement) -> bool:
    return str(one.header_value("rebuilt")).startswith("never")


def _is_passing(one: Statement) -> bool:
    return str(one.header_value("kept")).startswith("no")


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
