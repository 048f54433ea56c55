"""Sums, extremes and middles of stretches of one long array, without a loop over the stretches.

`offsets` has one entry more than there are stretches: stretch i is offsets[i] up to, and without,
offsets[i + 1]. A stretch may be empty.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from pipeline.physics.reason import Flags, Floats, Whole

_NEAR = 48
"""What is looked for lies mostly so near that it need not be looked for farther away."""


def offsets_of(keys: NDArray[np.generic]) -> Whole:
    """Where each run of equal keys begins, and the end of the last."""
    if not len(keys):
        return np.zeros(1, dtype=np.int64)
    begins = np.flatnonzero(keys[1:] != keys[:-1]) + 1
    return np.concatenate([[0], begins, [len(keys)]])


def rows_of(offsets: Whole) -> Whole:
    """For each element the number of its stretch."""
    return np.repeat(np.arange(len(offsets) - 1), np.diff(offsets))


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


def _narrowest(count: int) -> type[np.unsignedinteger]:
    return np.uint16 if count <= 1 << 16 else np.uint64


def stretches(begins: Whole, ends: Whole) -> tuple[Whole, Whole]:
    """Indices of all elements in [begin, end) of each pair, and the offsets of these stretches."""
    counts = np.maximum(ends - begins, 0)
    offsets = np.concatenate([[0], np.cumsum(counts)])
    index = np.arange(offsets[-1]) + np.repeat(begins - offsets[:-1], counts)
    return index, offsets


def lowest_between(values: Floats, first: Whole, last: Whole) -> Floats:
    """The lowest of each stretch, `last` in it; they follow each other and are not empty."""
    if not len(first):
        return np.zeros(0)
    # Every other stretch of these is what lies between two.
    bounds = np.column_stack([first, last + 1]).ravel()
    bounds = bounds[:-1] if bounds[-1] >= len(values) else bounds
    return np.minimum.reduceat(values, bounds)[::2]


def last_below(values: Floats, first: Whole, last: Whole, level: Floats) -> Whole:
    """For each range of indices the last with a value not over its level, or -1; ends included."""
    near = np.maximum(first, last - _NEAR)
    out = _found(last_where, values, near, last, level)
    far = np.flatnonzero((out < 0) & (near > first))
    out[far] = _found(last_where, values, first[far], near[far] - 1, level[far])
    return out


def first_below(values: Floats, first: Whole, last: Whole, level: Floats) -> Whole:
    """For each range of indices the first with a value not over its level, or -1; ends included."""
    near = np.minimum(first + _NEAR, last)
    out = _found(first_where, values, first, near, level)
    far = np.flatnonzero((out < 0) & (near < last))
    out[far] = _found(first_where, values, near[far] + 1, last[far], level[far])
    return out


def _found(
    where: Callable[[Flags, Whole], Whole],
    values: Floats,
    first: Whole,
    last: Whole,
    level: Floats,
) -> Whole:
    index, offsets = stretches(first, last + 1)
    at = where(values[index] <= np.repeat(level, np.diff(offsets)), offsets)
    # Place -1 reads what is put behind the last index.
    return np.append(index, -1)[at]


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
