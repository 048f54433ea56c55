"""What the ledger does not know yet, and what it is told about each look."""

from collections.abc import Sequence
from datetime import datetime

import duckdb
import polars as pl

from pipeline.pull.found import Found
from pipeline.pull.source import Look, SourceSummary

_NOT_YET_READ = """
    SELECT look, position,
    FROM looked
    WHERE NOT EXISTS (
        FROM main.delivery AS known
        WHERE known.feed = looked.feed
            AND known.site_id = looked.site_id
            AND known.path = looked.path
            AND known.byte_count = looked.byte_count
            AND known.modified_utc = looked.modified_utc
            AND abs(epoch(known.seen_utc) - epoch(known.modified_utc)) >= 2
    )
    ORDER BY look, position
"""
"""A file that was read in the second of its last change may have changed again in that second."""

_LOOKED = {
    "look": pl.Int64(),
    "position": pl.Int64(),
    "feed": pl.String(),
    "site_id": pl.String(),
    "path": pl.String(),
    "byte_count": pl.Int64(),
    "modified_utc": pl.Datetime("us"),
}
_TOLD = {
    "feed": pl.String(),
    "site_id": pl.String(),
    "state": pl.String(),
    "message": pl.String(),
    "listed_count": pl.Int64(),
    "fetched_count": pl.Int64(),
    "skipped_count": pl.Int64(),
}


def not_yet_read(con: duckdb.DuckDBPyConnection, looks: Sequence[Look]) -> list[list[Found]]:
    """For each look, the files that are new, or whose size or time of change is new.

    A file of which the source tells no size or time is always read; its content then tells.
    """
    rows = [
        (i, j, look.feed.name, look.site_id, one.path, one.byte_count, one.modified_utc)
        for i, look in enumerate(looks)
        for j, one in enumerate(look.listing.files)
    ]
    con.register("looked", pl.DataFrame(rows, schema=_LOOKED, orient="row"))
    new: list[list[Found]] = [[] for _ in looks]
    for i, j in con.execute(_NOT_YET_READ).fetchall():
        new[i].append(looks[i].listing.files[j])
    con.unregister("looked")
    return new


def record(
    con: duckdb.DuckDBPyConnection, summaries: Sequence[SourceSummary], now_utc: datetime
) -> None:
    """Note each look in the ledger; two looks at one instant count as the later."""
    rows = [tuple(getattr(one, name) for name in _TOLD) for one in summaries]
    con.register("told", pl.DataFrame(rows, schema=_TOLD, orient="row"))
    con.execute(
        """
        INSERT OR REPLACE INTO main.source BY NAME
        SELECT told.*, $now::TIMESTAMP AS seen_utc,
        FROM told
        """,
        {"now": now_utc},
    )
    con.unregister("told")
