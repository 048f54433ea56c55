"""Keep what was delivered: one unchangeable file a content, one ledger row a delivery.

Nothing here looks inside the bytes, and nothing that has landed is ever written again.
"""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import duckdb
import polars as pl

from pipeline.base.files import sha256
from pipeline.warehouse.ledger import Delivery, landed_path
from pipeline.warehouse.state import transaction

_ROWS = {
    "feed": pl.String(),
    "site_id": pl.String(),
    "path": pl.String(),
    "content_sha": pl.String(),
    "modified_utc": pl.Datetime("us"),
    "byte_count": pl.Int64(),
}


@dataclass(frozen=True)
class Landing:
    """Where deliveries land in this run: a ledger, a folder, and the instant that counts as now."""

    con: duckdb.DuckDBPyConnection
    folder: Path
    now_utc: datetime

    def __call__(self, deliveries: Sequence[Delivery]) -> list[str]:
        """Land some deliveries; gives the fingerprint of each, in their order.

        The bytes are safe on the disk before the ledger tells of them. The ledger's rows come in
        one transaction, so a run that is killed leaves at most bytes that the next lands again.
        """
        shas = [sha256(delivery.data) for delivery in deliveries]
        if not shas:
            return []
        pairs = list(zip(shas, deliveries, strict=True))
        _keep(self.folder, {sha: one.data for sha, one in pairs})
        rows = [
            (one.feed, one.site_id, one.path, sha, one.modified_utc, len(one.data))
            for sha, one in pairs
        ]
        _record(self.con, pl.DataFrame(rows, schema=_ROWS, orient="row"), self.now_utc)
        return shas


def _keep(folder: Path, contents: dict[str, bytes]) -> None:
    """Write contents that are not there yet, whole or not at all, with one flush for all of them.

    A flush for each file would take 3 ms, and thousands of printouts come in one night.
    """
    moves = []
    for sha, data in contents.items():
        path = landed_path(folder, sha)
        if path.is_file() and path.stat().st_size == len(data):
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_name(f".{sha}.part")
        part.write_bytes(data)
        moves.append((part, path))
    _flush([part for part, _ in moves])
    for part, path in moves:
        part.replace(path)
        path.chmod(0o440)


def _flush(paths: list[Path]) -> None:
    """Wait until what was written is on the disk."""
    if hasattr(os, "sync"):
        os.sync()
        return
    for path in paths:
        with path.open("rb+") as stream:
            os.fsync(stream.fileno())


def _record(con: duckdb.DuckDBPyConnection, rows: pl.DataFrame, now_utc: datetime) -> None:
    """Add deliveries to the ledger; of one that is known, note only that it was seen again.

    A source that tells no time gives a content the time at which it was first seen there.
    """
    con.register("landing", rows)
    with transaction(con):
        con.execute(_NEW_FILES, {"now": now_utc})
        con.execute(_NEW_DELIVERIES, {"now": now_utc})
    con.unregister("landing")


_NEW_FILES = """
    INSERT INTO main.file
    SELECT content_sha, any_value(byte_count), $now::TIMESTAMP,
    FROM landing
    GROUP BY content_sha
    ON CONFLICT DO NOTHING
"""
_NEW_DELIVERIES = """
    INSERT INTO main.delivery
    SELECT DISTINCT
        landing.feed,
        landing.site_id,
        landing.path,
        landing.content_sha,
        coalesce(landing.modified_utc, known.first_utc, $now::TIMESTAMP),
        landing.byte_count,
        $now::TIMESTAMP,
    FROM landing
    LEFT JOIN (
        SELECT feed, site_id, path, content_sha, min(modified_utc) AS first_utc,
        FROM main.delivery
        GROUP BY ALL
    ) AS known USING (feed, site_id, path, content_sha)
    ON CONFLICT DO UPDATE SET seen_utc = excluded.seen_utc
"""
