"""What the last run left behind, so that the next knows what is new; all or nothing."""

from collections.abc import Iterator
from contextlib import contextmanager

import duckdb


def remembered(con: duckdb.DuckDBPyConnection, name: str) -> str | None:
    """The value noted under a name; None when there is none."""
    _table(con)
    # Read to its end: after a fetchone() DuckDB refuses what comes next on the connection.
    rows = con.execute("SELECT value FROM build.state WHERE name = ?", [name]).fetchall()
    return rows[0][0] if rows else None


def remember(con: duckdb.DuckDBPyConnection, name: str, value: str) -> None:
    """Note a value under a name, in place of the one before."""
    _table(con)
    con.execute("DELETE FROM build.state WHERE name = ?", [name])
    con.execute("INSERT INTO build.state VALUES (?, ?)", [name, value])


@contextmanager
def transaction(con: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """All or nothing: what happens inside is stored when it ends, and forgotten when it raises."""
    con.execute("BEGIN")
    try:
        yield
    except BaseException:
        con.execute("ROLLBACK")
        raise
    con.execute("COMMIT")


def _table(con: duckdb.DuckDBPyConnection) -> None:
    con.execute("CREATE SCHEMA IF NOT EXISTS build")
    con.execute("CREATE TABLE IF NOT EXISTS build.state (name VARCHAR, value VARCHAR)")
