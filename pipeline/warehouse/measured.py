"""The warehouse as the last run left it, for commands that answer from it and change nothing."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import duckdb

from pipeline.base.errors import ConfigurationError
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.state import remember, remembered


@contextmanager
def measured(
    state_folder: Path, *, memory_limit: str | None = None
) -> Iterator[tuple[duckdb.DuckDBPyConnection, date]]:
    """The warehouse, and the last day that its figures count.

    Raises ConfigurationError when no run has ended yet, HoldtimeError when one has the warehouse.
    """
    path = state_folder / "warehouse.duckdb"
    if path.is_file():
        with open_file(path, memory_limit=memory_limit) as con:
            if as_of := remembered(con, "as_of"):
                yield con, date.fromisoformat(as_of)
                return
    raise ConfigurationError([f"{state_folder} holds no figures yet. Run `holdtime run` first."])


def note_measured(con: duckdb.DuckDBPyConnection, as_of: date) -> None:
    """Say up to which day the figures of this warehouse count."""
    remember(con, "as_of", as_of.isoformat())
