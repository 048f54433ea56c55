"""The only door to DuckDB: every connection is opened here, with the same settings."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from pipeline.base.errors import HoldtimeError

_SETTINGS = {
    "TimeZone": "UTC",
    "preserve_insertion_order": True,
    # A bar would be drawn into the log of a nightly run.
    "enable_progress_bar": False,
}

_EARLY_WRITES = "enable_optimistic_write"


def open_file(path: Path, *, memory_limit: str | None = None) -> duckdb.DuckDBPyConnection:
    """Open or create a database file, for this process alone.

    Raises HoldtimeError when another process has it. Reading files by path is switched off once
    the database is open: what comes from outside comes through the steps.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        return _prepared(duckdb.connect(str(path)), memory_limit)
    except duckdb.IOException as error:
        raise HoldtimeError(
            f"{path} cannot be opened; another run has it, or the disk does not allow it. "
            f"Wait for that run to end, then run again. ({error})"
        ) from error


def open_memory() -> duckdb.DuckDBPyConnection:
    """Open an empty database that lives in memory only."""
    return _prepared(duckdb.connect(), None)


def _prepared(
    con: duckdb.DuckDBPyConnection, memory_limit: str | None
) -> duckdb.DuckDBPyConnection:
    for name, value in _SETTINGS.items():
        con.execute(f"SET {name} = '{value}'")
    if memory_limit:
        con.execute("SET memory_limit = ?", [memory_limit])
    con.execute("SET enable_external_access = false")
    con.execute(f"SET allowed_configs = ['{_EARLY_WRITES}', 'memory_limit']")
    con.execute("SET lock_configuration = true")
    return con


@contextmanager
def rows_in_memory(con: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """For tables that are dropped before the transaction ends: their rows are not compressed.

    Else DuckDB begins to write a large table to disk before the commit, which takes as long again
    as what makes its rows.
    """
    con.execute(f"SET {_EARLY_WRITES} = false")
    try:
        yield
    finally:
        con.execute(f"SET {_EARLY_WRITES} = true")
