"""When a value that drifts would pass its limit, as a range of dates or as "no limit in sight".

A value is taken to have kept a level and then to rise along a line. When the rise began is not
known, nor where the level was; so each date at which the line might pass the limit is tried with
every onset, and those stand that explain the weeks nearly as well as the best (a profile of the
likelihood). A line through the weeks since one onset alone promises too much: it lies too flat
where level weeks are among them, and its dates come too late.

A line is no reason to put off a leak or a service: it says when it is too late, not until when it
is safe.

Source of the profile: D. M. Bates and D. G. Watts, Nonlinear Regression Analysis and Its
Applications (1988), chapter 6.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from pipeline.measure.intervals import Floats
from pipeline.measure.spans import Spans

RISE_WEEKS, LEAST_RISE_WEEKS = 39, 4
"""The line is looked for in at most so many last weeks, and has begun at least so long ago."""
LEAST_WEEKS = 6
"""Three numbers are fitted, and something must be left to tell the scatter."""
CONFIDENCE = 0.95
"""What the profile keeps to for lines given beforehand. These were looked for and then chosen for
their rise, so of the ranges about nine in ten hold the truth; the method page prints how many."""
AHEAD_WEEKS = np.concatenate([np.arange(0, 26, 0.5), np.arange(26, 105, 2.0), [156.0, 312.0, 1e6]])
"""Weeks after the last at which the limit may be passed; the very last stands for never."""
MOST_LIKENESS = 0.8
"""Autocorrelation of neighbouring weeks that is allowed for at most."""


@dataclass(frozen=True, slots=True)
class Crossings:
    """Weeks after the last known at which each line passes its limit; inf means never.

    NaN where there are too few weeks or there is no limit; 0 where it is passed already.
    """

    soonest: Floats
    likely: Floats
    latest: Floats


def crossings(spans: Spans, counts: NDArray[np.int64], limits: Floats) -> Crossings:
    """Of the first `counts` weeks of each span; its direction says which way the limit lies."""
    found = np.full((3, len(spans)), np.nan)
    for row in np.flatnonzero(np.isfinite(limits) & (counts >= LEAST_WEEKS)):
        last = counts[row] - 1
        first = np.searchsorted(spans.mondays[row], spans.mondays[row, last] - 7 * (RISE_WEEKS - 1))
        first = min(int(first), int(counts[row]) - LEAST_WEEKS)
        weeks = (spans.mondays[row, first : last + 1] - spans.mondays[row, last]) / 7
        room = (spans.middles[row, first : last + 1] - limits[row]) * spans.direction[row]
        found[:, row] = _crossing(weeks, room)
    return Crossings(*found)


def _crossing(x: Floats, y: Floats) -> tuple[float, float, float]:
    """The range for one series; x in weeks, the last is 0; y is what it lies beyond its limit."""
    loss, onset = _profile(x, y)
    best = int(loss.argmin())
    if not np.isfinite(loss[best]):
        return 0.0, 0.0, 0.0  # even its level is beyond the limit
    freedom = len(x) - 3
    allowed = special.stdtrit(freedom, (1 + CONFIDENCE) / 2) ** 2 / freedom
    allowed *= _likeness_factor(_residuals(x, y, AHEAD_WEEKS[best], onset[best]))
    stands = np.flatnonzero(loss <= loss[best] * (1 + allowed))
    ends = AHEAD_WEEKS[[stands[0], best, stands[-1]]]
    soonest, likely, latest = np.where(ends == AHEAD_WEEKS[-1], np.inf, ends).tolist()
    return soonest, likely, latest


def _profile(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Least sum of squares for each date of crossing, over all onsets, and the onset it is for."""
    begins = x[x <= x[-1] - LEAST_RISE_WEEKS]
    share = _shares(x, AHEAD_WEEKS[:, np.newaxis, np.newaxis], begins[np.newaxis, :, np.newaxis])
    rest = 1 - share
    level = (rest * y).sum(axis=-1) / (rest**2).sum(axis=-1)
    loss = ((y - level[..., np.newaxis] * rest) ** 2).sum(axis=-1)
    # A level beyond the limit would have to sink to it.
    loss = np.where(level < 0, loss, np.inf)
    which = loss.argmin(axis=1)
    return loss[np.arange(len(loss)), which], begins[which]


def _shares(x: Floats, ahead: Floats | float, begin: Floats | float) -> Floats:
    """How much of the way from the level to the limit is gone at each x."""
    return np.maximum(x - begin, 0) / (ahead - begin)


def _residuals(x: Floats, y: Floats, ahead: float, begin: float) -> Floats:
    rest = 1 - _shares(x, ahead, begin)
    return np.asarray(y - rest * (rest @ y) / (rest @ rest))


def _likeness_factor(residuals: Floats) -> float:
    """How many times as wide the squares lie when each week leans on the one before; 1 at least.

    The autocorrelation of few residuals of a fitted line comes out too low by about 2 / n.
    """
    total = float(residuals @ residuals)
    if total <= 0:
        return 1.0
    likeness = float(residuals[1:] @ residuals[:-1]) / total + 2 / len(residuals)
    likeness = min(max(likeness, 0.0), MOST_LIKENESS)
    return (1 + likeness) / (1 - likeness)
