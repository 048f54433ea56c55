"""What people closed: a finding whose evidence cannot come any more ends with a note."""

from collections.abc import Callable
from datetime import date
from typing import Any

import duckdb

from pipeline.measure.findings.finding import Finding

Rows = list[dict[str, Any]]


def closed_on(con: duckdb.DuckDBPyConnection, as_of: date) -> dict[str, date]:
    """The day on which each finding was closed, by its id, where the last note by then says so."""
    rows = con.execute(
        """
        SELECT finding_id, max(done_on),
        FROM model.follow_up
        WHERE done_on <= $as_of AND state IS NOT NULL
        GROUP BY finding_id
        HAVING arg_max(state, (done_on, state <> 'closed', action)) = 'closed'
        """,
        {"as_of": as_of},
    ).fetchall()
    return dict(rows)


def left_open(
    rows: Rows, closed: dict[str, date], finding: Callable[[Rows], Finding]
) -> Finding | None:
    """The finding of the loads that are left when those up to each closing note are done with.

    Rows are of one unit, ordered by `started_on`; the finding of some is since the first of them.
    """
    while rows:
        one = finding(rows)
        until = closed.get(one.finding_id)
        if until is None:
            return one
        rows = [row for row in rows if row["started_on"] > until]
    return None
