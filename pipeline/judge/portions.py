"""Divides the touched units, so that judging needs memory for a portion of the readings only."""

import duckdb

PORTION_WEIGHT = 4_000_000
"""Readings of a portion, a cycle counting as eight; its columns take about 400 MB.

The last unit may add to it.
"""

_PORTIONS = """
    WITH part AS (
        SELECT unit_serial, 8 * count(*) AS weight,
        FROM model.cycle
        SEMI JOIN build.touched USING (unit_serial, month)
        GROUP BY unit_serial
        UNION ALL
        SELECT unit_serial, count(*) AS weight,
        FROM model.reading
        SEMI JOIN build.touched USING (unit_serial, month)
        GROUP BY unit_serial
    ),
    unit AS (
        SELECT unit_serial, sum(weight) AS weight, FROM part GROUP BY unit_serial
    ),
    placed AS (
        SELECT
            unit_serial,
            (sum(weight) OVER (ORDER BY unit_serial) - weight)::BIGINT // $weight AS place,
        FROM unit
    )
    SELECT min(unit_serial), max(unit_serial), FROM placed GROUP BY place ORDER BY place
"""


def portions(con: duckdb.DuckDBPyConnection) -> list[tuple[str, str]]:
    """First and last serial number of each portion; none when nothing was touched."""
    return con.execute(_PORTIONS, {"weight": PORTION_WEIGHT}).fetchall()
