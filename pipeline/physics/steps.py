"""The time between samples: the usual step of a cycle, and where samples are missing."""

from dataclasses import dataclass

import numpy as np

from pipeline.physics import segments
from pipeline.physics.reason import Flags, Floats, Whole

GAP_FACTOR = 2.5
"""A step longer than this many usual ones is a gap: one sample may be lost, two may not."""
CHUNK = 1 << 15
"""Samples at a time: what is in between then stays in the cache of a processor."""
HOT_CELSIUS = 100.0
"""From here on a gap matters: what happens below does not sterilize in the time of a cycle."""


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """What the instants of cycles are like: an entry a cycle, but for `gaps`.

    `usual_seconds` is not a number below two samples. `is_even` where all steps are the very same.
    `is_doubtful` where one of several instants is unknown, goes back, or stands twice. `gaps` are
    the samples that a gap follows; `has_gap` where one counts: in the heat, or anywhere when it
    never is hot.
    """

    usual_seconds: Floats
    is_even: Flags
    is_doubtful: Flags
    gaps: Whole
    has_gap: Flags


@dataclass(frozen=True, slots=True, eq=False)
class _Uneven:
    """Steps of the cycles that have more than one length of them; `index` is where each begins."""

    rows: Whole
    index: Whole
    offsets: Whole
    seconds: Floats
    is_hot: Flags
    """At either end."""
    is_hot_throughout: Flags


def steps_of(at: Whole, seconds: Floats, celsius: Floats) -> Steps:
    """The steps of cycles with these offsets. Most units have one step and never miss it."""
    counts = np.diff(at)
    usual, is_doubtful = np.full(len(counts), np.nan), np.zeros(len(counts), dtype=bool)
    has_gap = is_doubtful.copy()
    many = np.flatnonzero(counts >= 2)
    usual[many] = seconds[at[many] + 1] - seconds[at[many]]
    is_doubtful[many] = ~(usual[many] > 0)
    uneven = _uneven(at, seconds, celsius)
    rows = uneven.rows
    is_even = np.ones(len(counts), dtype=bool)
    is_even[rows] = False
    least = segments.reduced(np.minimum, uneven.seconds, uneven.offsets, np.nan)
    is_doubtful[rows] = ~(least > 0)
    usual[rows] = np.where(least > 0, _usual_steps(uneven), np.nan)
    limit = np.repeat(GAP_FACTOR * usual[rows], np.diff(uneven.offsets))
    is_gap = uneven.seconds > limit
    has_gap[rows] = _counts(uneven, is_gap)
    return Steps(usual, is_even, is_doubtful, uneven.index[is_gap], has_gap)


def _uneven(at: Whole, seconds: Floats, celsius: Floats) -> _Uneven:
    rows = _rows_with_changes(at, seconds)
    index, offsets = segments.stretches(at[rows], at[rows + 1] - 1)
    begins, ends = celsius[index] >= HOT_CELSIUS, celsius[index + 1] >= HOT_CELSIUS
    lengths = seconds[index + 1] - seconds[index]
    return _Uneven(rows, index, offsets, lengths, begins | ends, begins & ends)


def _rows_with_changes(at: Whole, seconds: Floats) -> Whole:
    """The cycles in which a step differs from the one before; what is not a number differs."""
    found = [np.zeros(0, dtype=np.int64)]
    for begin in range(0, len(seconds) - 2, CHUNK):
        steps = np.diff(seconds[begin : begin + CHUNK + 2])
        found.append(np.flatnonzero(steps[1:] != steps[:-1]) + begin)
    first = np.concatenate(found)
    row = np.searchsorted(at, first, side="right") - 1
    # From one cycle to the next there is no step.
    return np.unique(row[first + 2 < at[row + 1]])


def _usual_steps(uneven: _Uneven) -> Floats:
    """Middle step of these cycles: of the hot ones, or of all when fewer than three are hot.

    Some units write every few seconds while they pump and once a minute in the hold.
    """
    of_all = segments.medians(uneven.seconds, uneven.offsets)
    hot = np.flatnonzero(uneven.is_hot_throughout)
    hot_offsets = np.searchsorted(hot, uneven.offsets)
    of_hot = segments.medians(uneven.seconds[hot], hot_offsets)
    return np.where(np.diff(hot_offsets) >= 3, of_hot, of_all)


def _counts(uneven: _Uneven, is_gap: Flags) -> Flags:
    """For each of these cycles whether one of its gaps lies where it counts."""
    offsets = uneven.offsets
    first = segments.first_where(uneven.is_hot, offsets)
    last = segments.last_where(uneven.is_hot, offsets)
    place, counts = np.arange(len(is_gap)), np.diff(offsets)
    is_within = (place >= np.repeat(first, counts)) & (
        place <= np.repeat(np.where(first < 0, len(is_gap), last), counts)
    )
    return segments.last_where(is_gap & is_within, offsets) >= 0
