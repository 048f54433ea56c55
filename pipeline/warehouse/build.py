"""Rebuilds the model tables, and of the large ones only the unit-months that new rows touched."""

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from datetime import date
from itertools import groupby

import duckdb

from pipeline.config.network import Network
from pipeline.warehouse.portion import Portion, portions, take
from pipeline.warehouse.statements import Statement, create, in_order

_KEYED = {
    "cycle": "day(started_local) = 1",
    "reading": "day(coalesce(started_local, instant_local)) = 1",
    "test": "false",
    "task": "false",
}
"""Kinds that are rebuilt by unit, and when a row may belong with those of the month before."""
MADE_AGAIN = ("register", "stage", "build", "model", "judge")
"""Schemas that hold what runs add to, and nothing that landed files cannot give again."""


@dataclass(frozen=True)
class Source:
    """How a feed's location for a site was found: read, empty or unreachable, and why.

    `not_seen_since_on` is the day of the last look that could read it; None when this one could.
    """

    feed: str
    site_id: str
    state: str
    message: str | None
    not_seen_since_on: date | None = None


def prepare(con: duckdb.DuckDBPyConnection) -> None:
    """Make the schemas and the staged tables, where they are not there yet."""
    for schema in ("stage", "register", "build", "judge"):
        create(con, schema)
    con.execute("CREATE SCHEMA IF NOT EXISTS model")


def write_registers(con: duckdb.DuckDBPyConnection, network: Network) -> None:
    """Put the sites and assignments of this run's configuration in place of the last ones."""
    con.execute("DELETE FROM register.site")
    con.execute("DELETE FROM register.assignment")
    con.executemany(
        "INSERT INTO register.site VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            (
                site.site_id,
                site.name,
                site.region,
                site.time_zone,
                site.altitude_m,
                site.follows,
                site.opened_on,
                site.closed_on,
                site.owner,
            )
            for site in network.sites.values()
        ],
    )
    con.executemany(
        "INSERT INTO register.assignment VALUES (?, ?, ?, ?, ?, ?)",
        [astuple(one) for one in network.assignments],
    )


def write_sources(con: duckdb.DuckDBPyConnection, sources: Sequence[Source]) -> None:
    """Put how this run found each location in place of how the last one did."""
    con.execute("DELETE FROM register.source")
    if sources:
        con.executemany(
            "INSERT INTO register.source VALUES (?, ?, ?, ?, ?)", [astuple(one) for one in sources]
        )


def touch(con: duckdb.DuckDBPyConnection, file_ids: Sequence[str]) -> None:
    """Mark what the rows of these files say something about, before they go or after they came.

    The month after is marked too: a sample taken after midnight of a month's last day belongs to
    a cycle of the month before. So is the month before a first day, on which a copy or the samples
    of a cycle of the day before may lie.
    """
    for name, is_first_day in _KEYED.items():
        con.execute(
            f"""
            INSERT INTO build.touched
            SELECT unit_serial, month + to_months(unnest(if(is_first_day, [-1, 0, 1], [0, 1]))),
            FROM (
                SELECT DISTINCT unit_serial, month, {is_first_day} AS is_first_day,
                FROM stage.{name}
                WHERE file_id IN (SELECT unnest($file_ids))
            )
            """,
            {"file_ids": list(file_ids)},
        )


def rebuild_touched(con: duckdb.DuckDBPyConnection) -> None:
    """Bring every model table up to the staged rows; what was not touched stays as it is.

    What was touched stays marked in build.touched, each unit-month once, for the steps that follow
    to bring theirs up to it; `forget_touched` ends that.
    """
    con.execute(
        "CREATE OR REPLACE TABLE build.touched AS "
        "SELECT DISTINCT unit_serial, month FROM build.touched"
    )
    in_portions = portions(con)
    for is_keyed, group in groupby(in_order(con, "model"), _is_keyed):
        if is_keyed:
            _rebuild_keyed(con, list(group), in_portions)
            continue
        for one in group:
            is_view = str(one.header_value("rebuilt")).startswith("never")
            made = "VIEW" if is_view else "TABLE"
            con.execute(f"CREATE OR REPLACE {made} {one.table} AS {one.text}")


def forget_touched(con: duckdb.DuckDBPyConnection) -> None:
    """Say that every step has brought its tables up to the rows that were touched."""
    con.execute("DELETE FROM build.touched")


def _is_keyed(statement: Statement) -> bool:
    return statement.header_value("rebuilt by") is not None


def _rebuild_keyed(
    con: duckdb.DuckDBPyConnection, group: Sequence[Statement], in_portions: Sequence[Portion]
) -> None:
    """Write the rows of what was touched again, of one portion after the other.

    A statement of the group reads of the others' tables no more than the rows of its own units.
    """
    for one in group:
        con.execute(f"CREATE TABLE IF NOT EXISTS {one.table} AS {one.text} LIMIT 0")
        columns = str(one.header_value("rebuilt by")).split(", ")
        # Column by column: compared as pairs, DuckDB would read what is of other months too.
        same = " AND ".join(f"touched.{column} = {one.name}.{column}" for column in columns)
        con.execute(
            f"DELETE FROM {one.table} WHERE EXISTS (FROM build.touched AS touched WHERE {same})"
        )
    for portion in in_portions:
        take(con, portion)
        for one in group:
            con.execute(f"INSERT INTO {one.table} {one.text}")


def forget_everything(con: duckdb.DuckDBPyConnection) -> None:
    """Drop what was made from the landed files and from the registers, to make all of it again."""
    for schema in MADE_AGAIN:
        con.execute(f"DROP SCHEMA IF EXISTS {schema} CASCADE")
    prepare(con)
