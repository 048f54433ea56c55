"""What was found at the end of last month beside what is found now, to say what changed."""

from datetime import date, timedelta

import duckdb

from pipeline.measure.measure import measure_all, measure_findings


def measure_with_past(con: duckdb.DuckDBPyConnection, as_of: date) -> None:
    """Make every figure of a day, and keep what was found at the end of the month before it.

    What was found then is found anew, in the logs that are here now: a log that came late changes
    both days alike, and the comparison is of the units, not of the post.
    """
    measure_findings(con, as_of.replace(day=1) - timedelta(days=1))
    con.execute("CREATE SCHEMA IF NOT EXISTS past")
    con.execute("CREATE OR REPLACE TABLE past.finding AS FROM measure.finding ORDER BY urgency")
    measure_all(con, as_of)
