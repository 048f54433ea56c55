"""Where a line through samples must turn to show them all, and where the log pauses."""

import numpy as np

from pipeline.physics import segments
from pipeline.physics.compiled import compiled
from pipeline.physics.reason import Flags, Floats

PAUSE_FACTOR = 5
"""A step this many times the usual one of the log is a pause."""


@compiled
def turns_of(seconds: Floats, values: Floats, tolerance: float) -> tuple[Flags, Flags]:
    """Which samples lines need to show all of them, and after which of these a line ends.

    A line goes from pause to pause. At no sample is it further from the value than `tolerance`, and
    its least and greatest value stay as they are. All values are numbers.
    """
    size = len(seconds)
    is_turn, is_end = np.zeros(size, dtype=np.bool_), np.zeros(size, dtype=np.bool_)
    longest, begin = PAUSE_FACTOR * _usual_step(seconds), 0
    for at in range(size):
        if at == size - 1 or seconds[at + 1] - seconds[at] > longest > 0:
            is_end[at] = True
            _turn(seconds, values, begin, at, tolerance, is_turn)
            begin = at + 1
    return is_turn, is_end


@compiled
def _usual_step(seconds: Floats) -> float:
    """The middle step, not a number where there is none."""
    steps = np.empty(max(len(seconds) - 1, 0))
    for at in range(len(steps)):
        steps[at] = seconds[at + 1] - seconds[at]
    return segments.middle(steps)


@compiled
def _turn(
    seconds: Floats, values: Floats, first: int, last: int, tolerance: float, is_turn: Flags
) -> None:
    """Mark the samples at which a line turns, its ends and extremes among them.

    Source: the swinging door, E. H. Bristol, Advances in Instrumentation and Control 45 (1990)
    749-754; from memory. Here a line turns at what was logged, never beside it.
    """
    lowest, highest = first, first
    for at in range(first, last + 1):
        lowest = at if values[at] < values[lowest] else lowest
        highest = at if values[at] > values[highest] else highest
    is_turn[first] = is_turn[lowest] = is_turn[highest] = is_turn[last] = True
    begin, least, most = first, -np.inf, np.inf
    at = first + 1
    while at <= last:
        span = seconds[at] - seconds[begin]
        slope = (values[at] - values[begin]) / span if span > 0 else np.inf
        if at > begin + 1 and not least <= slope <= most:
            # The door is shut: the line turns at the sample before, and this one is looked at anew.
            begin, least, most = at - 1, -np.inf, np.inf
            is_turn[begin] = True
            continue
        if is_turn[at]:
            begin, least, most = at, -np.inf, np.inf
        elif span > 0:
            least = max(least, slope - tolerance / span)
            most = min(most, slope + tolerance / span)
        else:
            # Two values of one instant: whatever comes next, the line turns here.
            least, most = np.inf, -np.inf
        at += 1
