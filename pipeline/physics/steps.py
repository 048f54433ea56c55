"""The time between samples: the usual step of a cycle, and where samples are missing."""

import numpy as np

from pipeline.physics import segments
from pipeline.physics.reason import Flags, Floats, Whole

GAP_FACTOR = 2.5
"""A step longer than this many usual ones is a gap: one sample may be lost, two may not."""
CHUNK = 1 << 14
"""Samples at a time: what is in between then stays in the cache of a processor."""
HOT_CELSIUS = 100.0
"""From here on a gap matters: what happens below does not sterilize in the time of a cycle."""


def only_step(at: Whole, seconds: Floats, counts: Whole) -> float | None:
    """The step between all samples, if there is but one; most units have one and never miss it."""
    if not len(counts) or counts.min() < 2:
        return None
    step = float(seconds[1] - seconds[0])
    found = 0
    for begin in range(0, len(seconds), CHUNK):
        found += int(np.count_nonzero(np.diff(seconds[begin : begin + CHUNK + 1]) == step))
    between = seconds[at[1:-1]] - seconds[at[1:-1] - 1]
    is_only = found == len(seconds) - len(counts) and not np.any(between == step)
    return step if step > 0 and is_only else None


def least_and_most(steps: Floats, at: Whole) -> tuple[Floats, Floats]:
    """Shortest and longest step of each cycle; not a number below two samples."""
    least, most = np.full(len(at) - 1, np.nan), np.full(len(at) - 1, np.nan)
    rows = np.flatnonzero(np.diff(at) >= 2)
    if len(rows):
        # Between two cycles lies a step that is none: it gets a stretch of its own, and is skipped.
        bounds = np.column_stack([at[rows], at[rows + 1] - 1]).ravel()
        bounds = bounds[:-1] if bounds[-1] >= len(steps) else bounds
        least[rows] = np.minimum.reduceat(steps, bounds)[::2]
        most[rows] = np.maximum.reduceat(steps, bounds)[::2]
    return least, most


def usual_steps(rows: Whole, at: Whole, steps: Floats, celsius: Floats) -> Floats:
    """Middle step of these cycles: of the hot ones, or of all when fewer than three are hot.

    Some units write every few seconds while they pump and once a minute in the hold.
    """
    index, offsets = segments.stretches(at[rows], at[rows + 1] - 1)
    of_all = segments.medians(steps[index], offsets)
    is_hot = (celsius[index] >= HOT_CELSIUS) & (celsius[index + 1] >= HOT_CELSIUS)
    hot_offsets = np.searchsorted(np.flatnonzero(is_hot), offsets)
    of_hot = segments.medians(steps[index[is_hot]], hot_offsets)
    return np.where(np.diff(hot_offsets) >= 3, of_hot, of_all)


def find_gaps(
    rows: Whole, at: Whole, steps: Floats, usual: Floats, celsius: Floats
) -> tuple[Flags | None, Flags]:
    """Marks a sample and a cycle, looked for in these cycles only."""
    has_gap = np.zeros(len(at) - 1, dtype=bool)
    if not len(rows):
        return None, has_gap
    index, offsets = segments.stretches(at[rows], at[rows + 1] - 1)
    is_gap = steps[index] > GAP_FACTOR * np.repeat(usual[rows], np.diff(offsets))
    gap_follows = np.zeros(len(celsius), dtype=bool)
    gap_follows[index] = is_gap
    is_hot = celsius[index] >= HOT_CELSIUS
    is_hot |= celsius[index + 1] >= HOT_CELSIUS
    first, last = segments.first_where(is_hot, offsets), segments.last_where(is_hot, offsets)
    place = np.arange(len(index))
    is_within = (place >= np.repeat(first, np.diff(offsets))) & (
        place <= np.repeat(np.where(first < 0, len(index), last), np.diff(offsets))
    )
    has_gap[rows] = segments.last_where(is_gap & is_within, offsets) >= 0
    return gap_follows, has_gap
