"""What people closed: a finding whose evidence cannot come any more ends with a note."""

from datetime import date

import duckdb


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
