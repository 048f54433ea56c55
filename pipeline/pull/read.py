"""Reading what is new at one location, some files at a time."""

from collections.abc import Sequence
from time import sleep

from pipeline.config.network import Network
from pipeline.pull.found import Found
from pipeline.pull.source import Look, SourceSummary
from pipeline.pull.trouble import Wait, check_size, is_lasting, persist, told
from pipeline.warehouse.ledger import Delivery

_BATCH_BYTES = 64 * 1024 * 1024
_BATCH_FILES = 2000
_MOST_TROUBLES = 3
"""Files that may break off, three tries each, before a location is left for the next run."""


class Reading:
    """One location's new files, read from the first to the last by one thread at a time."""

    def __init__(
        self,
        look: Look,
        new: Sequence[Found],
        wait: Wait = sleep,
        most_bytes: int = Network.max_file_mib * 2**20,
    ) -> None:
        self.look, self.wait, self.most_bytes = look, wait, most_bytes
        self.new = list(new)
        self.position = 0
        self.fetched_count = 0
        self.growing: list[str] = []
        self.failed: list[str] = []
        self.troubles = 0

    @property
    def is_over(self) -> bool:
        """True when nothing is left to be tried."""
        return self.position == len(self.new) or self.troubles == _MOST_TROUBLES

    def next_batch(self) -> list[Delivery]:
        """Some files, so that memory does not grow with what a clinic sends.

        Those that grow or fail are noted and left for the next run. Raises nothing.
        """
        batch: list[Delivery] = []
        size = 0
        while not self.is_over and size < _BATCH_BYTES and len(batch) < _BATCH_FILES:
            found = self.new[self.position]
            self.position += 1
            data = self._read(found)
            if data is not None:
                batch.append(
                    Delivery(
                        self.look.feed.name,
                        self.look.site_id,
                        found.path,
                        found.modified_utc,
                        data,
                    )
                )
                size += len(data)
        if self.is_over:
            self.look.place.close()
        self.fetched_count += len(batch)
        return batch

    def summary(self) -> SourceSummary:
        """What became of the location."""
        untried = len(self.new) - self.position
        return SourceSummary.of(
            self.look, len(self.new), self.fetched_count, self.growing, self.failed, untried
        )

    def _read(self, found: Found) -> bytes | None:
        place = self.look.place
        try:
            check_size(found.byte_count, self.most_bytes)
            data = persist(lambda: place.read(found), place.close, self.wait)
            # Not every source tells a size beforehand.
            check_size(None if data is None else len(data), self.most_bytes)
        except Exception as error:
            self.failed.append(f"{found.path}: {told(error, place.secrets())}")
            self.troubles += not is_lasting(error)
            return None
        if data is None:
            self.growing.append(found.path)
        return data
