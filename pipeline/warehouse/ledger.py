"""What the ledger knows of landed files. Read here, written by landing and pulling."""

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

import duckdb

from pipeline.base.files import short_id
from pipeline.warehouse.statements import statements


@dataclass(frozen=True)
class Delivery:
    """Bytes as a clinic's location gave them, not yet landed.

    `path` is spelt as the feed's location spells it. `modified_utc` is to the second and without a
    zone; None where the source tells no time.
    """

    feed: str
    site_id: str
    path: str
    modified_utc: datetime | None
    data: bytes


@dataclass(frozen=True)
class LandedFile:
    """One content of a feed and site, under the name and time of its earliest delivery.

    `landed_utc`, when its bytes first came, tells one run from another and says nothing of the
    content: it is no part of what two files have to have in common. None for a file of no ledger.
    """

    file_id: str
    feed: str
    site_id: str
    path: str
    content_sha: str
    modified_utc: datetime
    landed_utc: datetime | None = field(default=None, repr=False, compare=False)


def create_ledger(con: duckdb.DuckDBPyConnection) -> None:
    """Make the ledger's tables where they are not there yet.

    They lie in the schema main: the file is called ledger, and DuckDB could not tell a schema of
    that name from the file.
    """
    for definition in statements("ledger"):
        con.execute(definition.text)


def file_id(feed: str, site_id: str, content_sha: str) -> str:
    """The id of one content of a feed and site, the same in every run and on every machine."""
    return short_id(feed, site_id, content_sha)


def landed_path(landed_folder: Path, content_sha: str) -> Path:
    """Where the bytes of this fingerprint lie: 256 folders, because some disks dislike big ones."""
    return landed_folder / content_sha[:2] / content_sha


def last_read_utc(con: duckdb.DuckDBPyConnection) -> dict[tuple[str, str], datetime]:
    """When each feed's location for a site was last read and held something; unread ones miss."""
    rows = con.execute(
        """
        SELECT feed, site_id, max(seen_utc),
        FROM main.source
        WHERE state = 'read'
        GROUP BY feed, site_id
        """
    ).fetchall()
    return {(feed, site_id): seen_utc for feed, site_id, seen_utc in rows}


def landed_files(con: duckdb.DuckDBPyConnection) -> list[LandedFile]:
    """Every content of every feed and site, in one order that no run can change.

    A content that came several times counts as its earliest delivery, by the source's time and
    then by path: the order of runs must not show in anything that follows.
    """
    rows = con.execute(
        """
        SELECT feed, site_id, path, content_sha, modified_utc, file.landed_utc,
        FROM main.delivery
        LEFT JOIN main.file AS file USING (content_sha)
        QUALIFY row_number() OVER (
            PARTITION BY feed, site_id, content_sha ORDER BY modified_utc, path
        ) = 1
        ORDER BY feed, site_id, modified_utc, path, content_sha
        """
    ).fetchall()
    return [LandedFile(file_id(row[0], row[1], row[3]), *row) for row in rows]
