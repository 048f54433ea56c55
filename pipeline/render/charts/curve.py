"""The samples of a log as lines: broken where the log pauses, with no more points than are seen."""

from math import inf

import numpy as np
from numpy.typing import NDArray

GAP_FACTOR = 5
"""A pause this many times the usual pace of the log is drawn as a gap."""

Samples = NDArray[np.float64]
"""Rows of (seconds, value), in order of time."""
Run = list[tuple[float, float]]


def runs(samples: Samples, tolerance: float) -> list[Run]:
    """The samples between pauses of the log, each run thinned; none of fewer than two samples."""
    if len(samples) < 2:
        return []
    paces = np.diff(samples[:, 0])
    usual = np.median(paces)
    pauses = np.flatnonzero(paces > GAP_FACTOR * usual) + 1 if usual > 0 else ()
    return [thinned(run, tolerance) for run in np.split(samples, pauses)]


def thinned(samples: Samples, tolerance: float) -> Run:
    """Samples without those that a straight line between their neighbours shows anyway.

    At no sample is the line further from the value than `tolerance`, and the least and the
    greatest value stay as they are.
    """
    seconds, values = samples[:, 0].tolist(), samples[:, 1].tolist()
    ends = {0, int(samples[:, 1].argmin()), int(samples[:, 1].argmax()), len(values) - 1}
    kept = [0]
    for last in sorted(ends - {0}):
        kept += _turns(seconds, values, kept[-1], last, tolerance)
    return [(seconds[place], values[place]) for place in kept]


def _turns(
    seconds: list[float], values: list[float], begin: int, last: int, tolerance: float
) -> list[int]:
    """The places after `begin`, and `last` with them, at which a line through samples must turn.

    Source: the swinging door, E. H. Bristol, Advances in Instrumentation and Control 45 (1990)
    749-754; from memory. Here a line turns at what was logged, never beside it.
    """
    turns = []
    start, level = seconds[begin], values[begin]
    least, most = -inf, inf
    for place in range(begin + 1, last + 1):
        span = seconds[place] - start
        slope = (values[place] - level) / span if span > 0 else inf
        if not least <= slope <= most and place > begin + 1:
            begin = place - 1
            turns.append(begin)
            start, level = seconds[begin], values[begin]
            least, most = -inf, inf
            span = seconds[place] - start
            slope = (values[place] - level) / span if span > 0 else inf
        if span > 0:
            low, high = slope - tolerance / span, slope + tolerance / span
            if low > least:
                least = low
            if high < most:
                most = high
        else:
            # Two values of one instant: whatever comes next, the line turns here.
            least, most = inf, -inf
    return [*turns, last]


def outline(run: Run, most: int) -> Run:
    """At most so many samples that keep every peak: the least and greatest of each stretch."""
    if len(run) <= most:
        return run
    stretch = -(-len(run) // (most // 2 - 1))
    kept = {run[0], run[-1]}
    for begin in range(0, len(run), stretch):
        part = run[begin : begin + stretch]
        kept |= {min(part, key=_value), max(part, key=_value)}
    return sorted(kept)


def _value(sample: tuple[float, float]) -> float:
    return sample[1]
