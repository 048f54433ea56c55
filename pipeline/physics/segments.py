"""Sums, extremes and middles of stretches of one long array, without a loop over the stretches.

`offsets` has one entry more than there are stretches: stretch i is offsets[i] up to, and without,
offsets[i + 1]. A stretch may be empty.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from pipeline.physics.reason import Flags, Floats, Whole

_NEAR = 32
"""What is looked for lies mostly so near that it need not be looked for farther away."""
_WIDER = 4
_MOST_PADDED, _FEW_PLACES = 2, 1 << 16
"""A table of stretches may have so many places for each value, or in all; more wastes memory."""
Compare = Callable[[Floats, Floats], Flags]
"""Of values with the level that holds for each."""


def offsets_of(keys: NDArray[np.generic]) -> Whole:
    """Where each run of equal keys begins, and the end of the last."""
    if not len(keys):
        return np.zeros(1, dtype=np.int64)
    begins = np.flatnonzero(keys[1:] != keys[:-1]) + 1
    return np.concatenate([[0], begins, [len(keys)]])


def rows_of(offsets: Whole) -> Whole:
    """For each element the number of its stretch."""
    return np.repeat(np.arange(len(offsets) - 1), np.diff(offsets))


def at_least(values: Floats, offsets: Whole, level: Floats) -> tuple[Whole, Whole]:
    """Indices of the values not under the level of their stretch, and the offsets of these.

    Quick where most lie under every level. A level that is not a number has none.
    """
    lowest = np.min(level, initial=np.inf, where=~np.isnan(level))
    index = np.flatnonzero(values >= lowest)
    bounds = np.searchsorted(index, offsets)
    if np.any(level != lowest):
        index = index[values[index] >= np.repeat(level, np.diff(bounds))]
        bounds = np.searchsorted(index, offsets)
    return index, bounds


def reduced(ufunc: np.ufunc, values: Floats, offsets: Whole, empty: float) -> Floats:
    """One value a stretch, and `empty` for an empty one."""
    out = np.full(len(offsets) - 1, empty)
    is_full = offsets[1:] > offsets[:-1]
    if is_full.any():
        # reduceat reads up to the next start that it is given, so empty ones may be left out.
        out[is_full] = ufunc.reduceat(values[: offsets[-1]], offsets[:-1][is_full])
    return out


def medians(values: Floats, offsets: Whole) -> Floats:
    """The middle value of each stretch, the mean of both middles when even; empty: not a number.

    One not a number within makes the middle not a number.
    """
    counts = np.diff(offsets)
    if 0 < counts.max(initial=0) * len(counts) <= max(_MOST_PADDED * len(values), _FEW_PLACES):
        return _medians_of_like(values[: offsets[-1]], counts)
    rows = rows_of(offsets)
    # By value, then stably by stretch: two quick sorts, where one by both keys is slow.
    order = np.argsort(values)
    order = order[np.argsort(rows[order].astype(_narrowest(len(counts))), kind="stable")]
    in_order = values[order]
    out = np.full(len(counts), np.nan)
    full = np.flatnonzero(counts)
    begins, count = offsets[:-1][full], counts[full]
    low, high = in_order[begins + (count - 1) // 2], in_order[begins + count // 2]
    # What is not a number is sorted to the end of its stretch.
    last = in_order[begins + count - 1]
    out[full] = np.where(np.isnan(last), np.nan, (low + high) / 2)
    return out


def _medians_of_like(values: Floats, counts: Whole) -> Floats:
    """The same of stretches of much the same length: rows of a table, each sorted by itself."""
    rows = np.full((len(counts), counts.max()), np.inf)
    rows[np.arange(rows.shape[1]) < counts[:, None]] = values
    rows.sort(axis=1)
    row = np.arange(len(counts))
    middle = (rows[row, (counts - 1) // 2] + rows[row, np.minimum(counts // 2, counts - 1)]) / 2
    # What is not a number is sorted behind what fills the row up.
    return np.where((counts == 0) | np.isnan(rows[:, -1]), np.nan, middle)


def _narrowest(count: int) -> type[np.unsignedinteger]:
    return np.uint16 if count <= 1 << 16 else np.uint64


def stretches(begins: Whole, ends: Whole) -> tuple[Whole, Whole]:
    """Indices of all elements in [begin, end) of each pair, and the offsets of these stretches."""
    counts = np.maximum(ends - begins, 0)
    offsets = np.concatenate([[0], np.cumsum(counts)])
    index = np.arange(offsets[-1]) + np.repeat(begins - offsets[:-1], counts)
    return index, offsets


def reduced_between(ufunc: np.ufunc, values: Floats, first: Whole, last: Whole) -> Floats:
    """One value a stretch, `last` in it; they follow each other and are not empty."""
    if not len(first):
        return np.zeros(0)
    # Every other stretch of these is what lies between two.
    bounds = np.column_stack([first, last + 1]).ravel()
    bounds = bounds[:-1] if bounds[-1] >= len(values) else bounds
    return ufunc.reduceat(values, bounds)[::2]


def windows(values: Floats, begin: Whole, width: int) -> Floats:
    """A row of so many values from each place on, copied without an index for every value."""
    return np.lib.stride_tricks.sliding_window_view(values, width)[begin]


def last_below(values: Floats, first: Whole, last: Whole, level: Floats) -> Whole:
    """For each range of indices the last with a value not over its level, or -1; ends included."""
    return last_that(np.less_equal, values, first, last, level)


def first_below(values: Floats, first: Whole, last: Whole, level: Floats) -> Whole:
    """For each range of indices the first with a value not over its level, or -1; ends included."""
    return first_that(np.less_equal, values, first, last, level)


def last_that(compare: Compare, values: Floats, first: Whole, last: Whole, level: Floats) -> Whole:
    """For each range of indices the last whose value compares so with its level, or -1."""
    return _sought(compare, values, first, last, level, is_last=True)


def first_that(compare: Compare, values: Floats, first: Whole, last: Whole, level: Floats) -> Whole:
    """For each range of indices the first whose value compares so with its level, or -1."""
    return _sought(compare, values, first, last, level, is_last=False)


def _sought(
    compare: Compare, values: Floats, first: Whole, last: Whole, level: Floats, *, is_last: bool
) -> Whole:
    out = np.full(len(first), -1, dtype=np.int64)
    left, width = np.flatnonzero(last >= first), _NEAR
    low, high = first[left], last[left]
    while len(left):
        width = min(width, len(values))
        begin = np.clip(high - width + 1 if is_last else low, 0, len(values) - width)
        is_so = compare(windows(values, begin, width), level[left, None])
        # At the ends of the values a window reaches beyond the side from which it is looked at.
        cut = np.flatnonzero(begin + width - 1 > high if is_last else begin < low)
        place = begin[cut, None] + np.arange(width)
        is_so[cut] &= place <= high[cut, None] if is_last else place >= low[cut, None]
        at = width - 1 - is_so[:, ::-1].argmax(axis=1) if is_last else is_so.argmax(axis=1)
        is_found = is_so[np.arange(len(left)), at]
        at += begin
        # What lies beyond the other side is none, and there is no nearer one then.
        is_found &= at >= low if is_last else at <= high
        out[left[is_found]] = at[is_found]
        more = ~is_found & (begin > low if is_last else begin + width <= high)
        left, low, high = left[more], low[more], high[more]
        if is_last:
            high = begin[more] - 1
        else:
            low = begin[more] + width
        # Only ranges that are longer than this stay, so the rows never outgrow the values by far.
        width *= _WIDER
    return out


def last_where(is_so: Flags, offsets: Whole) -> Whole:
    """For each stretch the last index at which it is so, or -1."""
    return _first_or_last(is_so, offsets, last=True)


def first_where(is_so: Flags, offsets: Whole) -> Whole:
    """For each stretch the first index at which it is so, or -1."""
    return _first_or_last(is_so, offsets, last=False)


def _first_or_last(is_so: Flags, offsets: Whole, *, last: bool) -> Whole:
    hits = np.flatnonzero(is_so[: offsets[-1]])
    bounds = np.searchsorted(hits, offsets)
    is_hit = bounds[1:] > bounds[:-1]
    out = np.full(len(offsets) - 1, -1, dtype=np.int64)
    out[is_hit] = hits[(bounds[1:] - 1 if last else bounds[:-1])[is_hit]]
    return out
