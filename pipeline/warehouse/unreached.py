"""Readers whom letters did not reach: from the ledger into the warehouse, for the data page."""

from collections.abc import Sequence

import duckdb

from pipeline.warehouse.statements import create

Unreached = tuple[object, ...]
"""A row of register.unreached."""


def unreached(ledger: duckdb.DuckDBPyConnection) -> list[Unreached]:
    """Letters refused for good, and notices of failure or delay; always in the same order."""
    return ledger.execute(
        """
        SELECT letter_id, period, level, subject_id, recipient, state, tried_utc::DATE,
        FROM main.letter
        WHERE state = 'refused' AND kind <> 'webhook'
        UNION ALL
        SELECT letter_id, period, level, subject_id, bounce.recipient, action, seen_utc::DATE,
        FROM main.bounce AS bounce
        LEFT JOIN main.letter AS letter USING (letter_id)
        WHERE action IN ('failed', 'delayed')
        ORDER BY ALL
        """
    ).fetchall()


def write_unreached(con: duckdb.DuckDBPyConnection, rows: Sequence[Unreached]) -> None:
    """Put these rows in place of those of the last run."""
    create(con, "register")
    con.execute("DELETE FROM register.unreached")
    if rows:
        con.executemany("INSERT INTO register.unreached VALUES (?, ?, ?, ?, ?, ?, ?)", list(rows))
