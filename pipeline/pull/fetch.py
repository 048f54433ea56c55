"""Fetch what is new at every clinic's location; one that cannot be reached never stops the others.

Reads no clock and looks into no file. Landing is handed in, because no step knows another.
"""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from functools import partial
from time import sleep

import duckdb

from pipeline.base import log
from pipeline.config.credentials import Credentials
from pipeline.config.network import Feed, Network
from pipeline.pull.access import Access
from pipeline.pull.at_once import each_landed
from pipeline.pull.claims import check_claims
from pipeline.pull.found import Listing, Place
from pipeline.pull.local import LocalPlace
from pipeline.pull.month import filled
from pipeline.pull.news import not_yet_read, record
from pipeline.pull.read import Reading
from pipeline.pull.remote import RemotePlace
from pipeline.pull.source import Look, SourceSummary
from pipeline.pull.trouble import Wait, persist, told
from pipeline.warehouse.ledger import Delivery

Land = Callable[[Sequence[Delivery]], object]


def pull(
    network: Network,
    con: duckdb.DuckDBPyConnection,
    land: Land,
    now_utc: datetime,
    *,
    environment: Mapping[str, str] | None = None,
    wait: Wait = sleep,
) -> tuple[SourceSummary, ...]:
    """Fetch what is new or changed at every feed's location and have it landed; one summary each.

    `network.at_once` locations are listed and read at a time; landing and the ledger stay in this
    thread. `environment` may hold passwords; `wait` takes the seconds between two tries.

    Raises ConfigurationError when two feeds match one file: it could be staged by either, and
    which of them came first would show in the result.
    """
    pairs = [(feed, site_id) for feed in network.feeds for site_id in feed.site_ids]
    look = partial(_look, network, environment or {}, wait)
    with ThreadPoolExecutor(network.at_once, "pull") as pool:
        looks = list(pool.map(lambda pair: look(*pair), pairs))
        check_claims(looks)
        new = not_yet_read(con, looks)
        most_bytes = network.max_file_mib * 2**20
        readings = [
            Reading(one, files, wait, most_bytes) for one, files in zip(looks, new, strict=True)
        ]
        each_landed(pool, network.at_once, readings, land)
    summaries = [reading.summary() for reading in readings]
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


def _look(
    network: Network, environment: Mapping[str, str], wait: Wait, feed: Feed, site_id: str
) -> Look:
    location, is_meant = filled(feed.location, site_id)
    credentials = network.credentials.get(feed.credentials or "", Credentials("none"))
    most_bytes = network.max_file_mib * 2**20
    access = Access(credentials.for_site(site_id), environment, most_bytes)
    place: Place
    if "://" in location.removeprefix("file://") or "::" in location:
        place = RemotePlace(location, access, is_meant)
    else:
        place = LocalPlace(network.folder, location.removeprefix("file://"), is_meant)
    try:
        return Look(feed, site_id, place, persist(place.list_files, place.close, wait))
    # Each driver has exceptions of its own, and a clinic's trouble must stay its own.
    except Exception as error:
        return Look(feed, site_id, place, Listing(), told(error, place.secrets()))
    finally:
        place.close()
