"""The time between samples: the usual step of a cycle, and where samples are missing."""

import numpy as np

from pipeline.physics import segments
from pipeline.physics.compiled import compiled
from pipeline.physics.reason import Flags, Floats, Whole

GAP_FACTOR = 2.5
"""A step longer than this many usual ones is a gap: one sample may be lost, two may not."""
HOT_CELSIUS = 100.0
"""From here on a gap matters: what happens below does not sterilize in the time of a cycle."""
_LEAST_HOT_STEPS = 3


@compiled
def steps_of(offsets: Whole, seconds: Floats, celsius: Floats) -> tuple[Floats, Flags]:
    """The usual step of each cycle, and whether it has a gap that counts.

    The step is not a number below two samples, and where an instant is unknown, goes back, or
    stands twice. A gap counts in the heat, or anywhere when it never is hot.
    """
    size = len(offsets) - 1
    usual, has_gap = np.full(size, np.nan), np.zeros(size, dtype=np.bool_)
    for row in range(size):
        begin, end = offsets[row], offsets[row + 1]
        if _is_even(seconds[begin:end]):
            usual[row] = seconds[begin + 1] - seconds[begin]
        elif end - begin >= 2:
            usual[row], has_gap[row] = _uneven(seconds[begin:end], celsius[begin:end])
    return usual, has_gap


@compiled
def _is_even(seconds: Floats) -> bool:
    """Whether all steps are the very same, as those of most units always are, and go forth."""
    if len(seconds) < 2:
        return False
    step, other_count = seconds[1] - seconds[0], 0
    for at in range(len(seconds) - 1):
        other_count += seconds[at + 1] - seconds[at] != step
    return other_count == 0 and 0 < step < np.inf


@compiled
def _uneven(seconds: Floats, celsius: Floats) -> tuple[float, bool]:
    """Middle step of the hot ones, or of all when few are hot; and whether a gap counts.

    Some units write every few seconds while they pump and once a minute in the hold.
    """
    steps, hot_steps = np.empty(len(seconds) - 1), np.empty(len(seconds) - 1)
    hot_count, first, last = 0, -1, len(steps) - 1
    for at in range(len(steps)):
        steps[at] = seconds[at + 1] - seconds[at]
        if not 0 < steps[at] < np.inf:
            return np.nan, False
        begins_hot, ends_hot = celsius[at] >= HOT_CELSIUS, celsius[at + 1] >= HOT_CELSIUS
        if begins_hot and ends_hot:
            hot_steps[hot_count] = steps[at]
            hot_count += 1
        if begins_hot or ends_hot:
            first, last = at if first < 0 else first, at
    is_told = hot_count >= _LEAST_HOT_STEPS
    usual = segments.middle(hot_steps[:hot_count] if is_told else steps)
    limit = GAP_FACTOR * usual
    return usual, segments.longest_step(seconds[max(first, 0) : last + 2]) > limit
