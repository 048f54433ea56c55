"""A SQLAlchemy dialect over a DuckDB connection that is already open, for reading only.

Great Expectations speaks to databases through SQLAlchemy. The driver that others publish opens the
file a second time, with settings of its own, which DuckDB refuses while we hold it; it could not
see the rows of a run that is not yet committed either. SQLAlchemy compiles the SQL and hands it
over; nothing here opens, commits or closes anything.
"""

from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import duckdb
import sqlalchemy as sa
from sqlalchemy import types
from sqlalchemy.dialects import registry
from sqlalchemy.dialects.postgresql.base import PGDialect
from sqlalchemy.engine.interfaces import ReflectedColumn
from sqlalchemy.pool import StaticPool

_TYPES = {
    "BIGINT": types.BIGINT,
    "BOOLEAN": types.BOOLEAN,
    "DATE": types.DATE,
    "DOUBLE": types.DOUBLE,
    "TIMESTAMP": types.TIMESTAMP,
    "VARCHAR": types.VARCHAR,
}

_COLUMNS = """
    SELECT column_name, data_type
    FROM duckdb_columns()
    WHERE table_name = $1
    ORDER BY column_index
"""

_DRIVER = SimpleNamespace(
    paramstyle="numeric_dollar", apilevel="2.0", threadsafety=1, Error=duckdb.Error
)


class _Cursor:
    """Runs on the connection itself: a DuckDB cursor would be another session."""

    arraysize, rowcount, lastrowid = 1, -1, None

    def __init__(self, con: duckdb.DuckDBPyConnection) -> None:
        self._con = con

    def execute(self, statement: str, parameters: Sequence[Any] = ()) -> None:
        self._con.execute(statement, list(parameters))

    @property
    def description(self) -> list[tuple[Any, ...]]:
        return [(column[0], None, None, None, None, None, None) for column in self._con.description]

    def fetchone(self) -> Any:
        return self._con.fetchone()

    def fetchmany(self, count: int = 1) -> list[Any]:
        return self._con.fetchmany(count)

    def fetchall(self) -> list[Any]:
        return self._con.fetchall()

    def close(self) -> None:
        """Leave the connection open: it is the caller's."""


class _Connection:
    """What SQLAlchemy takes for a connection; the transaction stays the caller's."""

    def __init__(self, con: duckdb.DuckDBPyConnection) -> None:
        self._con = con

    def cursor(self) -> _Cursor:
        return _Cursor(self._con)

    def commit(self) -> None:
        """Leave it to the caller."""

    rollback = close = commit


class DuckDBDialect(PGDialect):
    """PostgreSQL's SQL, as far as checks use it, with DuckDB's literals and catalogue."""

    name = "duckdb"
    driver = "open"
    supports_statement_cache = True
    _backslash_escapes = False
    default_schema_name = "main"

    @classmethod
    def import_dbapi(cls) -> Any:
        """Name the exceptions and the style of parameters."""
        return _DRIVER

    def initialize(self, connection: sa.Connection) -> None:
        """Ask the server nothing: PostgreSQL's questions have no answer here."""

    def get_columns(
        self, connection: sa.Connection, table_name: str, schema: str | None = None, **_: Any
    ) -> list[ReflectedColumn]:
        """Names and types of a table's or view's columns."""
        rows = connection.exec_driver_sql(_COLUMNS, (table_name,)).fetchall()
        return [
            {
                "name": name,
                "type": _TYPES.get(kind, types.NullType)(),
                "nullable": True,
                "default": None,
            }
            for name, kind in rows
        ]


registry.register("duckdb.open", __name__, "DuckDBDialect")


def engine_over(con: duckdb.DuckDBPyConnection) -> sa.Engine:
    """A SQLAlchemy engine whose every statement runs on this connection."""
    return sa.create_engine(
        "duckdb+open://", creator=lambda: _Connection(con), poolclass=StaticPool
    )
