"""Divides what was touched, so that judging needs memory for a portion of the readings only."""

from dataclasses import dataclass
from datetime import date

import duckdb

PORTION_WEIGHT = 1_000_000
"""Readings of a portion, a cycle counting as eight; its columns take about 100 MB.

The last unit may add to it, or the last month where one unit alone has more: 2.7 million at most,
of a unit that writes each second day and night.
"""

_PORTIONS = """
    WITH part AS (
        SELECT unit_serial, month, 8 * count(*) AS weight,
        FROM model.cycle
        SEMI JOIN build.touched USING (unit_serial, month)
        GROUP BY unit_serial, month
        UNION ALL
        SELECT unit_serial, month, count(*) AS weight,
        FROM model.reading
        SEMI JOIN build.touched USING (unit_serial, month)
        GROUP BY unit_serial, month
    ),
    unit_month AS (
        SELECT unit_serial, month, sum(weight) AS weight, FROM part GROUP BY unit_serial, month
    ),
    unit AS (
        SELECT
            unit_serial,
            min(month) AS first_month,
            max(month) AS last_month,
            sum(weight) AS weight,
            sum(weight) > $most AS is_large,
        FROM unit_month
        GROUP BY unit_serial
    ),
    -- Months of a large unit; and small units together, as far as no large one stands between.
    piece AS (
        SELECT unit_serial, month AS first_month, month AS last_month, unit_month.weight, is_large,
        FROM unit_month
        JOIN unit USING (unit_serial)
        WHERE is_large
        UNION ALL
        SELECT unit_serial, first_month, last_month, weight, is_large,
        FROM unit
        WHERE NOT is_large
    ),
    grouped AS (
        SELECT
            piece.*,
            if(is_large, unit_serial, NULL) AS large_serial,
            (
                SELECT count(*)
                FROM unit
                WHERE unit.is_large AND unit.unit_serial < piece.unit_serial
            ) AS large_before,
        FROM piece
    ),
    placed AS (
        SELECT
            *,
            (
                sum(weight) OVER (
                    PARTITION BY large_serial, large_before
                    ORDER BY unit_serial, first_month
                ) - weight
            )::BIGINT // $most AS place,
        FROM grouped
    )
    SELECT min(unit_serial), max(unit_serial), min(first_month), max(last_month),
    FROM placed
    GROUP BY large_serial, large_before, place
    ORDER BY min(unit_serial), min(first_month)
"""


@dataclass(frozen=True, slots=True)
class Portion:
    """Cycles of touched units from the first serial number to the last, in these months.

    All four ends are in it; the months leave nothing out unless the portion is of one unit.
    """

    first_serial: str
    last_serial: str
    first_month: date
    last_month: date

    @property
    def names(self) -> dict[str, str | date]:
        """What the statements of sql/ask/ call the ends."""
        return {name: getattr(self, name) for name in self.__slots__}


def portions(con: duckdb.DuckDBPyConnection) -> list[Portion]:
    """The touched cycles in portions, each cycle in one; none when nothing was touched."""
    rows = con.execute(_PORTIONS, {"most": PORTION_WEIGHT}).fetchall()
    return [Portion(*row) for row in rows]
