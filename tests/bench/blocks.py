"""Readings that do not fit into memory: whole cycles in blocks, from batches that cut them."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pipeline.physics import segments
from pipeline.physics.reason import Floats, Whole
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
    """Blocks of whole cycles, at most about so many samples; a longer cycle is a block of its own.

    The rows of a cycle must follow each other, over the ends of batches too. The first and the last
    cycle of each batch, which may go on in another, come later than the rest, many in a block.
    """
    aside: list[Readings] = []
    for batch in batches:
        offsets = segments.offsets_of(batch.cycles)
        yield from _whole(batch, offsets[1:-1], about)
        ends = {*pairwise(offsets[:2].tolist()), *pairwise(offsets[-2:].tolist())}
        # Copied, since the part of a column keeps the memory of the whole.
        aside += [_joined([batch.part(*one)]) for one in sorted(ends)]
        if sum(len(one.cycles) for one in aside) > about:
            joined = _joined(aside)
            offsets = segments.offsets_of(joined.cycles)
            yield from _whole(joined, offsets[:-1], about)
            aside = [joined.part(int(offsets[-2]), int(offsets[-1]))]
    if aside:
        joined = _joined(aside)
        yield from _whole(joined, segments.offsets_of(joined.cycles), about)


def _whole(rows: Readings, offsets: Whole, about: int) -> Iterator[Block]:
    """As few blocks as will do, and none much smaller than the others: each call has its cost."""
    first, count = 0, len(offsets) - 1
    while first < count:
        left = int(offsets[count] - offsets[first])
        size = left // -(-left // about)
        end = int(np.searchsorted(offsets, offsets[first] + size, side="right")) - 1
        end = max(end, first + 1)
        part = rows.part(int(offsets[first]), int(offsets[end]))
        at = offsets[first : end + 1] - offsets[first]
        traces = traces_of(at, part.elapsed_seconds, part.celsius, part.kpa)
        yield Block(part.cycles[at[:-1]], traces)
        first = end


def _joined(parts: list[Readings]) -> Readings:
    kpa = [one.kpa for one in parts if one.kpa is not None]
    return Readings(
        np.concatenate([one.cycles for one in parts]),
        np.concatenate([one.elapsed_seconds for one in parts]),
        np.concatenate([one.celsius for one in parts]),
        np.concatenate(kpa) if len(kpa) == len(parts) else None,
    )
