"""Landed files to staged rows, files of one feed and time zone together.

Every line ends as layout, staged or held, or the run stops. The caller holds the transaction.
"""

from collections.abc import Iterator, Sequence

import duckdb

from pipeline.base import log
from pipeline.base.errors import HoldtimeError
from pipeline.base.files import sha256
from pipeline.config.network import Feed, Network
from pipeline.stage.ahead import ahead
from pipeline.stage.batch import Batch
from pipeline.stage.parts import Part
from pipeline.stage.result import StageResult
from pipeline.stage.store import Store, forget_files
from pipeline.stage.times import Zones
from pipeline.warehouse.ledger import LandedFile, landed_path

__all__ = ["StageResult", "forget_files", "stage_files"]

_BATCH_BYTES = 32 * 1024 * 1024
_BATCH_FILES = 2000


def stage_files(
    con: duckdb.DuckDBPyConnection, network: Network, files: Sequence[LandedFile]
) -> StageResult:
    """Stage files that are not staged now; what the network does not declare is left out.

    A file that cannot be read as declared is set aside whole, with the reason; the others go on.
    """
    total = StageResult()
    for feed in network.feeds:
        of_feed, stores = StageResult(), dict[int, Store]()
        for batch, part in ahead(_parts(network, feed, files)):
            store = stores.setdefault(id(batch), Store(con, batch))
            if part is not None:
                store.add(part)
            else:
                of_feed += stores.pop(id(batch)).finish()
        if of_feed.file_ids:
            log.step("stage", f"{feed.name}: {of_feed}")
        total += of_feed
    return total


def _parts(
    network: Network, feed: Feed, files: Sequence[LandedFile]
) -> Iterator[tuple[Batch, Part | None]]:
    """The parts of all batches of a feed; None after the last part of each."""
    for zones, some in _by_zones(network, feed, files).items():
        for pairs in _batches(network, some):
            batch = Batch(network, feed, zones, pairs)
            for part in batch.parts():
                yield batch, part
            yield batch, None


def _by_zones(
    network: Network, feed: Feed, files: Sequence[LandedFile]
) -> dict[Zones, list[LandedFile]]:
    grouped: dict[Zones, list[LandedFile]] = {}
    for file in files:
        if file.feed == feed.name and file.site_id in network.sites:
            site = network.sites[file.site_id]
            zones = Zones(network.time_zone(feed, site), site.time_zone)
            grouped.setdefault(zones, []).append(file)
    return grouped


def _batches(network: Network, files: list[LandedFile]) -> Iterator[list[tuple[LandedFile, bytes]]]:
    """Some files at a time with their bytes, so that memory has a bound."""
    batch, size = list[tuple[LandedFile, bytes]](), 0
    for file in files:
        data = _landed_bytes(network, file)
        if batch and (size + len(data) > _BATCH_BYTES or len(batch) >= _BATCH_FILES):
            yield batch
            batch, size = [], 0
        batch.append((file, data))
        size += len(data)
    if batch:
        yield batch


def _landed_bytes(network: Network, file: LandedFile) -> bytes:
    path = landed_path(network.state_folder / "landed", file.content_sha)
    data = path.read_bytes() if path.is_file() else b""
    if sha256(data) != file.content_sha:
        raise HoldtimeError(
            f"{path}: the landed copy of {file.path} is gone or damaged. Restore it from a "
            "backup; it is the evidence behind the figures."
        )
    return data
