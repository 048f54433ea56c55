"""Divides the touched units, so that judging needs memory for a portion of the readings only."""

import duckdb

from pipeline.warehouse.portion import weighed

PORTION_WEIGHT = 4_000_000
"""Readings of a portion, a cycle counting as eight; its columns take about 400 MB.

The last unit may add to it.
"""


def portions(con: duckdb.DuckDBPyConnection) -> list[tuple[str, str]]:
    """First and last serial number of each portion; none when nothing was touched."""
    by_weight = weighed(con, "model", cycle_weight=8, most=PORTION_WEIGHT)
    return [(one.first_serial, one.last_serial) for one in by_weight]
