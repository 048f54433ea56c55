"""Fetch what is new at every clinic's location; one that cannot be reached never stops the others.

Reads no clock and looks into no file. Landing is handed in, because no step knows another.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime

import duckdb

from pipeline.base import log
from pipeline.config.network import Feed, Network
from pipeline.pull.claims import check_claims
from pipeline.pull.found import Found, Listing, Place
from pipeline.pull.local import LocalPlace
from pipeline.pull.news import not_yet_read, record
from pipeline.pull.remote import RemotePlace, without_credentials
from pipeline.pull.source import Look, SourceSummary
from pipeline.warehouse.ledger import Delivery

_BATCH_BYTES = 64 * 1024 * 1024
_BATCH_FILES = 2000

Land = Callable[[Sequence[Delivery]], object]


def pull(
    network: Network, con: duckdb.DuckDBPyConnection, land: Land, now_utc: datetime
) -> tuple[SourceSummary, ...]:
    """Fetch what is new or changed at every feed's location and have it landed; one summary each.

    Raises ConfigurationError when two feeds match one file: it could be staged by either, and
    which of them came first would show in the result.
    """
    looks = [_look(network, feed, site_id) for feed in network.feeds for site_id in feed.site_ids]
    check_claims(looks)
    new = not_yet_read(con, looks)
    summaries = [_fetch(land, look, files) for look, files in zip(looks, new, strict=True)]
    record(con, summaries, now_utc)
    fetched = sum(one.fetched_count for one in summaries)
    listed = sum(one.listed_count for one in summaries)
    log.step(
        "pull",
        f"{len(summaries)} locations: {listed:,} files, {fetched:,} fetched",
        changed=fetched > 0,
    )
    for one in summaries:
        if one.message:
            log.warn("pull", f"{one.feed} {one.site_id}: {one.message}")
    return tuple(summaries)


def _look(network: Network, feed: Feed, site_id: str) -> Look:
    location = feed.location.replace("{site}", site_id)
    place: Place
    if "://" in location.removeprefix("file://") or "::" in location:
        place = RemotePlace(location)
    else:
        place = LocalPlace(network.folder, location.removeprefix("file://"))
    try:
        return Look(feed, site_id, place, place.list_files())
    # Each driver has exceptions of its own, and a clinic's trouble must stay its own.
    except Exception as error:
        return Look(feed, site_id, place, Listing(), _told(error))


def _fetch(land: Land, look: Look, new: list[Found]) -> SourceSummary:
    growing: list[str] = []
    failed: list[str] = []
    fetched = 0
    for batch in _batches(_read(look, new, growing, failed)):
        land(batch)
        fetched += len(batch)
    return SourceSummary.of(look, len(new), fetched, growing, failed)


def _read(
    look: Look, new: list[Found], growing: list[str], failed: list[str]
) -> Iterator[Delivery]:
    """Read files one by one; those that grow or fail are noted and left for the next run."""
    for found in new:
        try:
            data = look.place.read(found)
        except Exception as error:
            failed.append(f"{found.path}: {_told(error)}")
            continue
        if data is None:
            growing.append(found.path)
        else:
            yield Delivery(look.feed.name, look.site_id, found.path, found.modified_utc, data)


def _batches(deliveries: Iterator[Delivery]) -> Iterator[list[Delivery]]:
    """Some files at a time, so that memory does not grow with what a clinic sends."""
    batch: list[Delivery] = []
    size = 0
    for delivery in deliveries:
        batch.append(delivery)
        size += len(delivery.data)
        if size >= _BATCH_BYTES or len(batch) >= _BATCH_FILES:
            yield batch
            batch, size = [], 0
    if batch:
        yield batch


def _told(error: Exception) -> str:
    """What went wrong, in one line and without passwords."""
    text = " ".join(without_credentials(str(error)).split()) or type(error).__name__
    return text[:300]
