"""What the database keeps of its tables is held to a limit for a while, and then no more."""

import duckdb
import pytest

from pipeline.warehouse.cache import at_most
from pipeline.warehouse.connection import open_file

ROWS = 6_000_000
FILL = f"CREATE TABLE t AS SELECT range AS n, hash(range)::VARCHAR AS text FROM range({ROWS})"


def asked(con: duckdb.DuckDBPyConnection, what: str) -> int:
    return con.sql(f"SELECT {what}").fetchall()[0][0]


def limit(con: duckdb.DuckDBPyConnection) -> int:
    """Bytes, as near as the setting is told."""
    return asked(con, "parse_formatted_bytes(current_setting('memory_limit'))")


def kept(con: duckdb.DuckDBPyConnection) -> int:
    """Bytes of memory in use."""
    return asked(con, "sum(memory_usage_bytes)::BIGINT FROM duckdb_memory()")


def test_what_was_read_is_let_go_and_rows_are_still_sorted(tmp_path):
    with open_file(tmp_path / "warehouse.duckdb") as con:
        threads = asked(con, "current_setting('threads')")
        con.execute(FILL)
        con.execute("SELECT count(text) FROM t").fetchall()
        assert kept(con) > 20_000_000 * threads
        with at_most(con, 20):
            assert kept(con) <= 20_000_000 * threads
            assert asked(con, "sum(length(text)) FROM t") > ROWS
            assert kept(con) <= 20_000_000 * threads


@pytest.mark.parametrize(("own", "a_thread"), [("8GB", 200), ("100MB", None)])
def test_a_limit_that_is_less_already_stays_and_each_is_given_back(tmp_path, own, a_thread):
    with open_file(tmp_path / "warehouse.duckdb", memory_limit=own) as con:
        before, threads = limit(con), asked(con, "current_setting('threads')")
        inside = a_thread * threads * 1_000_000 if a_thread else before
        with pytest.raises(ValueError, match="stopped"), at_most(con, 200):
            assert limit(con) == pytest.approx(inside, rel=0.01)
            raise ValueError("stopped")
        assert limit(con) == pytest.approx(before, rel=0.03)


def test_a_limit_is_given_back_when_rows_were_not_read_to_their_end(tmp_path):
    with open_file(tmp_path / "warehouse.duckdb", memory_limit="8GB") as con:
        with pytest.raises(ValueError, match="stopped"), at_most(con, 200):
            assert con.execute("FROM range(1_000_000)").fetchmany(1)
            raise ValueError("stopped")
        con.execute("SELECT 1").fetchall()
        assert limit(con) == pytest.approx(8_000_000_000, rel=0.03)
