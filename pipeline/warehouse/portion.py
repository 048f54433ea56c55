"""Divides what was touched by units, so that a rebuild needs memory for a portion, not for all."""

from dataclasses import dataclass

import duckdb

PORTION_ROWS = 1_500_000
"""Staged rows of a portion; the last unit may add to it. A million cycles take some 700 MB."""

_PORTIONS = """
    WITH part AS (
        SELECT unit_serial, count(*) AS weight,
        FROM stage.cycle
        SEMI JOIN build.touched USING (unit_serial, month)
        GROUP BY unit_serial
        UNION ALL
        SELECT unit_serial, count(*) AS weight,
        FROM stage.reading
        SEMI JOIN build.touched USING (unit_serial, month)
        GROUP BY unit_serial
        UNION ALL
        SELECT DISTINCT unit_serial, 0 AS weight,
        FROM build.touched
        WHERE unit_serial IS NOT NULL
    ),
    unit AS (
        SELECT unit_serial, sum(weight) AS weight, FROM part GROUP BY unit_serial
    ),
    placed AS (
        SELECT
            unit_serial,
            (sum(weight) OVER (ORDER BY unit_serial) - weight)::BIGINT // $portion_rows AS place,
        FROM unit
    )
    SELECT min(unit_serial), max(unit_serial), FROM placed GROUP BY place ORDER BY place
"""
_NEAR = """
    INSERT INTO build.near
    WITH edge AS (
        SELECT
            unit_serial,
            (month - INTERVAL 1 MONTH)::DATE AS month,
            month - INTERVAL 1 DAY AS from_local,
            month AS until_local,
        FROM build.portion
        UNION ALL
        SELECT
            unit_serial,
            (month + INTERVAL 1 MONTH)::DATE AS month,
            month + INTERVAL 1 MONTH AS from_local,
            month + INTERVAL 1 MONTH + INTERVAL 1 DAY AS until_local,
        FROM build.portion
    )
    SELECT unit_serial, month, month, month + INTERVAL 1 MONTH, FROM build.portion
    UNION ALL
    FROM edge ANTI JOIN build.portion USING (unit_serial, month)
"""


@dataclass(frozen=True)
class Portion:
    """Touched units from the first serial number to the last, both of them in it."""

    first_serial: str
    last_serial: str


def portions(con: duckdb.DuckDBPyConnection) -> list[Portion]:
    """The touched units in portions of some PORTION_ROWS staged rows; none when none is touched."""
    rows = con.execute(_PORTIONS, {"portion_rows": PORTION_ROWS}).fetchall()
    return [Portion(*row) for row in rows]


def take(con: duckdb.DuckDBPyConnection, portion: Portion) -> None:
    """Put a portion's unit-months into build.portion, and what lies beside them into build.near."""
    con.execute("DELETE FROM build.portion")
    con.execute("DELETE FROM build.near")
    con.execute(
        """
        INSERT INTO build.portion
        SELECT unit_serial, month,
        FROM build.touched
        WHERE unit_serial BETWEEN $first AND $last
        """,
        {"first": portion.first_serial, "last": portion.last_serial},
    )
    con.execute(_NEAR)
