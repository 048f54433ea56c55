"""The samples of a log as lines: broken where the log pauses, with no more points than are seen."""

from itertools import pairwise
from math import inf

import numpy as np
from numpy.typing import NDArray

GAP_FACTOR = 5
"""A pause this many times the usual pace of the log is drawn as a gap."""

STRETCH = 8
"""Samples that are looked at together for whether a straight line shows them."""
BY_STRETCH = 0.25
"""The part of the tolerance that may be used so; the sum of both parts is the whole."""

Samples = NDArray[np.float64]
"""Rows of (seconds, value), in order of time."""
Run = list[tuple[float, float]]


def runs(samples: Samples, tolerance: float) -> list[Run]:
    """The samples between pauses of the log, each run thinned; none of fewer than two samples."""
    if len(samples) < 2:
        return []
    paces = np.diff(samples[:, 0])
    # The greater of two middle ones: numpy's median and split take longer than all that follows.
    usual = np.partition(paces, len(paces) // 2)[len(paces) // 2]
    pauses = np.flatnonzero(paces > GAP_FACTOR * usual) + 1 if usual > 0 else ()
    ends = [0, *pauses, len(samples)]
    parts = (samples[begin:end] for begin, end in pairwise(ends))
    return [thinned(part, tolerance) for part in parts]


def thinned(samples: Samples, tolerance: float) -> Run:
    """Samples without those that a straight line between their neighbours shows anyway.

    At no sample is the line further from the value than `tolerance`, and the least and the
    greatest value stay as they are.
    """
    samples = _without_straight(samples, tolerance * BY_STRETCH)
    tolerance *= 1 - BY_STRETCH
    seconds, values = samples[:, 0].tolist(), samples[:, 1].tolist()
    ends = {0, int(samples[:, 1].argmin()), int(samples[:, 1].argmax()), len(values) - 1}
    kept = [0]
    for last in sorted(ends - {0}):
        kept += _turns(seconds, values, kept[-1], last, tolerance)
    return [(seconds[place], values[place]) for place in kept]


def _without_straight(samples: Samples, tolerance: float) -> Samples:
    """Samples without those inside a stretch whose ends show them all, nearly enough.

    Most of a cycle is a ramp or a plateau; what is left for one look at a time is a fraction.
    """
    stretches = (len(samples) - 1) // STRETCH
    if stretches == 0:
        return samples
    inside, ends = stretches * STRETCH, samples[STRETCH::STRETCH][:stretches]
    seconds, values = samples[:inside].T.reshape(2, stretches, STRETCH)
    spans = ends[:, 0] - seconds[:, 0]
    slopes = (ends[:, 1] - values[:, 0]) / np.where(spans > 0, spans, 1)
    levels = values[:, :1] + slopes[:, None] * (seconds - seconds[:, :1])
    is_straight = (np.abs(values - levels).max(axis=1) <= tolerance) & (spans > 0)
    is_kept = np.ones(len(samples), dtype=bool)
    is_kept[:inside].reshape(stretches, STRETCH)[is_straight, 1:] = False
    is_kept[[samples[:, 1].argmin(), samples[:, 1].argmax()]] = True
    return samples[is_kept]


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
