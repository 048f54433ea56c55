"""How much of the database's tables may stay in memory while something else needs the room."""

from collections.abc import Iterator
from contextlib import contextmanager

import duckdb


@contextmanager
def at_most(con: duckdb.DuckDBPyConnection, megabytes_a_thread: int) -> Iterator[None]:
    """Hold the database's memory to so much a thread, unless its limit is less already.

    What was read of tables stays in memory as long as there is room, which is most of the machine.
    Rows that do not fit are sorted on disk; less than 125 MB a thread is not enough for that, as
    DuckDB's guide to performance says.
    """
    # Of its own, because a reader that broke off in mid-result keeps the other busy.
    with con.cursor() as own:
        before, threads = _limit_and_threads(own)
        wanted = megabytes_a_thread * threads * 1_000_000
        if before <= wanted:
            yield
            return
        own.execute(f"SET memory_limit = '{wanted}B'")
        try:
            yield
        finally:
            own.execute(f"SET memory_limit = '{before}B'")


def _limit_and_threads(con: duckdb.DuckDBPyConnection) -> tuple[int, int]:
    row = con.execute(
        "SELECT parse_formatted_bytes(current_setting('memory_limit')), current_setting('threads')"
    ).fetchone()
    assert row
    return row
