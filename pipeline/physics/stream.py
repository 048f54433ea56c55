"""Readings that do not fit into memory: whole cycles in blocks, from batches that cut them."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.physics import segments
from pipeline.physics.reason import Floats
from pipeline.physics.samples import Traces, traces_of

BLOCK_SAMPLES = 1 << 19
"""So many that calls cost little beside the work, so few that some columns fit a cache."""


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """Rows of readings, those of a cycle one after the other; `kpa` None when none was logged."""

    cycles: NDArray[np.generic]
    elapsed_seconds: Floats
    celsius: Floats
    kpa: Floats | None = None

    def part(self, begin: int, end: int) -> "Readings":
        """Rows from begin up to, and without, end; nothing is copied."""
        kpa = None if self.kpa is None else self.kpa[begin:end]
        at = slice(begin, end)
        return Readings(self.cycles[at], self.elapsed_seconds[at], self.celsius[at], kpa)


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Whole cycles: the key of each, and their traces in the same order."""

    cycles: NDArray[np.generic]
    traces: Traces


def blocks_of(batches: Iterable[Readings], about: int = BLOCK_SAMPLES) -> Iterator[Block]:
    """Blocks of about so many samples, never with a part of a cycle; a longer one is a block.

    The rows of a cycle must follow each other, over the ends of batches too; what is cut at the end
    of a batch waits for the next.
    """
    carried: Readings | None = None
    for batch in batches:
        if not len(batch.cycles):
            continue
        offsets = segments.offsets_of(batch.cycles)
        first, last = 0, len(offsets) - 2
        if carried is not None:
            if carried.cycles[0] == batch.cycles[0]:
                carried = _joined(carried, batch.part(0, int(offsets[1])))
                first = 1
            if first > last:
                continue
            yield from _whole(carried, np.array([0, len(carried.cycles)]), about)
        yield from _whole(batch, offsets[first : last + 1], about)
        carried = batch.part(int(offsets[last]), int(offsets[last + 1]))
    if carried is not None:
        yield from _whole(carried, np.array([0, len(carried.cycles)]), about)


def _whole(rows: Readings, offsets: NDArray[np.int64], about: int) -> Iterator[Block]:
    first, count = 0, len(offsets) - 1
    while first < count:
        end = int(np.searchsorted(offsets, offsets[first] + about, side="right")) - 1
        end = min(max(end, first + 1), count)
        part = rows.part(int(offsets[first]), int(offsets[end]))
        at = offsets[first : end + 1] - offsets[first]
        traces = traces_of(at, part.elapsed_seconds, part.celsius, part.kpa)
        yield Block(part.cycles[at[:-1]], traces)
        first = end


def _joined(before: Readings, after: Readings) -> Readings:
    kpa = None
    if before.kpa is not None and after.kpa is not None:
        kpa = np.concatenate([before.kpa, after.kpa])
    return Readings(
        np.concatenate([before.cycles, after.cycles]),
        np.concatenate([before.elapsed_seconds, after.elapsed_seconds]),
        np.concatenate([before.celsius, after.celsius]),
        kpa,
    )
