"""What lies where in the samples of a cycle: places, extremes and middles."""

import numpy as np
from numpy.typing import NDArray

from pipeline.physics.compiled import compiled
from pipeline.physics.reason import Floats, Whole


def offsets_of(keys: NDArray[np.generic]) -> Whole:
    """Where each run of equal keys begins, and the end of the last."""
    if not len(keys):
        return np.zeros(1, dtype=np.int64)
    begins = np.flatnonzero(keys[1:] != keys[:-1]) + 1
    return np.concatenate([[0], begins, [len(keys)]])


@compiled
def longest(offsets: Whole) -> int:
    """How many places the longest stretch has; 0 for none."""
    most = 0
    for row in range(len(offsets) - 1):
        most = max(most, offsets[row + 1] - offsets[row])
    return most


@compiled
def bounds_within(values: Floats, low: float, high: float) -> tuple[int, int]:
    """The first place with a value in the band, and the one after the last; no stretch for none.

    Without a way out of the loop, a processor compares several values at a time.
    """
    first, last = len(values), -1
    for at in range(len(values)):
        is_within = (low <= values[at]) & (values[at] <= high)
        first = min(first, at if is_within else len(values))
        last = max(last, at if is_within else -1)
    return first, last + 1


@compiled
def first_below(values: Floats, level: float) -> int:
    """The first place not over the level, -1 for none; quick where it is near the beginning."""
    for at in range(len(values)):
        if values[at] <= level:
            return at
    return -1


@compiled
def last_below(values: Floats, level: float) -> int:
    """The last place not over the level, -1 for none; quick where it is near the end."""
    for at in range(len(values) - 1, -1, -1):
        if values[at] <= level:
            return at
    return -1


@compiled
def first_above(values: Floats, level: float) -> int:
    """The first place not under the level, -1 for none."""
    first, _ = bounds_within(values, level, np.inf)
    return first if first < len(values) else -1


@compiled
def last_above(values: Floats, level: float) -> int:
    """The last place not under the level, -1 for none."""
    _, end = bounds_within(values, level, np.inf)
    return end - 1


@compiled
def lowest(values: Floats) -> float:
    """The lowest of those that are a number; infinite for none."""
    found = np.inf
    for value in values:
        if value < found:
            found = value
    return found


@compiled
def highest(values: Floats) -> float:
    """The highest of those that are a number; minus infinite for none."""
    found = -np.inf
    for value in values:
        if value > found:
            found = value
    return found


@compiled
def highest_of(offsets: Whole, values: Floats) -> Floats:
    """The highest of each stretch, not a number for none."""
    out = np.full(len(offsets) - 1, np.nan)
    for row in range(len(out)):
        if offsets[row] < offsets[row + 1]:
            out[row] = highest(values[offsets[row] : offsets[row + 1]])
    return out


@compiled
def longest_step(values: Floats) -> float:
    """The most that a value lies above the one before; minus infinite below two."""
    found = -np.inf
    for at in range(1, len(values)):
        if values[at] - values[at - 1] > found:
            found = values[at] - values[at - 1]
    return found


@compiled
def middle(values: Floats) -> float:
    """The middle of some numbers, the mean of both middles when even; not a number for none.

    Sorts what it is given, by D. L. Shell's way, Comm. ACM 2 (1959) 30-32: quick for the few dozen
    that there mostly are, and compiled in a twentieth of the time of numpy's median.
    """
    count = len(values)
    if count == 0:
        return np.nan
    apart = count // 2
    while apart > 0:
        for at in range(apart, count):
            value = values[at]
            while at >= apart and values[at - apart] > value:
                values[at] = values[at - apart]
                at -= apart
            values[at] = value
        apart = 1 if apart == 2 else apart * 5 // 11
    return (values[(count - 1) // 2] + values[count // 2]) / 2


@compiled
def middle_of_known(values: Floats) -> float:
    """The middle of those that are a number; not a number for none."""
    known, count = np.empty(len(values)), 0
    for at in range(len(values)):
        if not np.isnan(values[at]):
            known[count] = values[at]
            count += 1
    return middle(known[:count])
