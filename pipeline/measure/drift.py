"""Whether a value that tells of wear is leaving the range kept after the last service.

Pure judgements of many spans at once; units are those of the features. A span is judged by what was
known at the end of a day.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from pipeline.measure.intervals import Floats
from pipeline.measure.spans import Names, Spans
from pipeline.measure.trend_many import Slopes, slopes_of_rows

BASELINE_WEEKS, LEAST_BASELINE_WEEKS = 26, 8
JUDGED_WEEKS = 3
"""The last three weeks are judged, so they are never part of the baseline."""
SLOPE_WEEKS = 26
STALE_DAYS = 28
TREND_P = 0.2
"""Of the Mann-Kendall score with Hamed and Rao's variance, two-sided: 10 % on the worse
side. Weeks outside after level ones resemble each other, so less would refuse every onset."""
ALLOWANCE, ONSET_LIMIT = 0.5, 5.0
"""Of the CUSUM that dates the onset, in the baseline's sigmas: quickest for a shift of one sigma,
and one false onset in 930 level weeks. Source: the run lengths of `control.run_length`."""
NORMAL_90 = 3.29
"""Width, in sigmas, of the range that holds 90 % of a normal distribution."""


@dataclass(frozen=True, slots=True)
class Drifts:
    """How each span stands; NaN where there are too few weeks, -1 where there is no week.

    `run_p` is the chance of so many weeks outside in a row if all weeks were alike. `slopes` are
    in the feature's unit a week, with x = 0 at the first week looked at, and have a p only where
    the last three weeks are outside; `weeks` is the number of weeks from there to the last.
    `onset_on` is the Monday of the first week of the present rise. `reason` is outside, alone,
    usual, too_few or stale.
    """

    low: Floats
    high: Floats
    latest: Floats
    since_on: NDArray[np.int64]
    weeks_outside: NDArray[np.int64]
    run_p: Floats
    slopes: Slopes
    weeks: Floats
    onset_on: NDArray[np.int64]
    reason: Names


def judge(spans: Spans, day: date) -> Drifts:
    """Judge each span on its own; every one must have begun by this day.

    Outside means beyond the 5-95 % range of the first 26 weeks (at least 8, never the last 3) on
    the worse side. It is drift when three weeks in a row or more, up to the last, are outside, the
    whole 95 % interval of the Theil-Sen slope over 26 weeks points the same way, and the trend
    stands when the likeness of neighbouring weeks is allowed for.
    """
    counts = spans.counts(day)
    assert counts.all(), "a span that had not begun cannot be judged"
    row, last = np.arange(len(spans)), counts - 1
    size = baseline_sizes(counts)
    low, middle, high = quantiles(spans.middles, size, (0.05, 0.5, 0.95))
    end = np.where(spans.direction > 0, high, -low)[:, np.newaxis]
    signed = spans.middles * spans.direction[:, np.newaxis]
    column = np.arange(spans.middles.shape[1])
    is_known = column < counts[:, np.newaxis]
    is_inside = is_known & ~(signed > end)
    last_inside = np.where(is_inside, column, -1).max(axis=1, initial=-1)
    weeks_outside = np.where(size > 0, last - last_inside, 0)
    slopes, weeks = _slopes(spans, counts, weeks_outside >= JUDGED_WEEKS)
    worse_way = np.where(spans.direction > 0, slopes.low > 0, slopes.high < 0)
    is_drift = (weeks_outside >= JUDGED_WEEKS) & worse_way & (slopes.p < TREND_P)
    reason = np.where(is_drift, "outside", "usual").astype(object)
    reason[size == 0] = "too_few"
    reason[spans.mondays[row, last] + 6 + STALE_DAYS < day.toordinal()] = "stale"
    scale = np.maximum((high - low) / NORMAL_90, 1e-9)
    sigmas = (signed - (middle * spans.direction)[:, np.newaxis]) / scale[:, np.newaxis]
    onset = _onset(np.where(is_known & (column >= size[:, np.newaxis]), sigmas, np.nan))
    return Drifts(
        low,
        high,
        spans.middles[row, last],
        np.where(weeks_outside > 0, spans.mondays[row, counts - np.maximum(weeks_outside, 1)], -1),
        weeks_outside,
        _run_p(weeks_outside, size),
        slopes,
        weeks,
        np.where(onset >= 0, spans.mondays[row, np.maximum(onset, 0)], -1),
        reason,
    )


def _run_p(weeks_outside: NDArray[np.int64], sizes: NDArray[np.int64]) -> Floats:
    """Exact by ranks: each further week is one more of those above the same baseline value.

    The 95 % point of n values has 0.05 (n - 1) + 1 of them at or above it, interpolated.
    """
    p, above = np.ones(len(sizes)), 0.05 * (sizes - 1) + 1
    for week in range(int(weeks_outside.max(initial=0))):
        p *= np.where(week < weeks_outside, (above + week) / (sizes + 1 + week), 1.0)
    return np.where(sizes > 0, p, np.nan)


def baseline_sizes(counts: NDArray[np.int64]) -> NDArray[np.int64]:
    """Weeks that the baseline of spans of so many weeks is taken from; 0 while it is too short."""
    sizes = np.minimum(BASELINE_WEEKS, counts - JUDGED_WEEKS)
    return np.where(sizes >= LEAST_BASELINE_WEEKS, sizes, 0)


def quantiles(
    middles: Floats, sizes: NDArray[np.int64], shares: tuple[float, ...]
) -> tuple[Floats, ...]:
    """Quantiles of the first `sizes` values of each row, by linear interpolation; NaN for none."""
    first = middles[:, :BASELINE_WEEKS].copy()
    first[np.arange(first.shape[1]) >= sizes[:, np.newaxis]] = np.inf
    first.sort(axis=1)
    row, out = np.arange(len(first)), []
    for share in shares:
        at = share * np.maximum(sizes - 1, 0)
        below = np.floor(at).astype(np.int64)
        above = np.minimum(below + 1, np.maximum(sizes - 1, 0))
        low, high = first[row, below], first[row, above]
        with np.errstate(invalid="ignore"):
            out.append(np.where(sizes > 0, low + (high - low) * (at - below), np.nan))
    return tuple(out)


def _slopes(
    spans: Spans, counts: NDArray[np.int64], is_tested: NDArray[np.bool_]
) -> tuple[Slopes, Floats]:
    """Slopes over the last 26 weeks, and how many weeks lie between the first and last of them."""
    row, last = np.arange(len(spans)), counts - 1
    from_monday = spans.mondays[row, last] - 7 * (SLOPE_WEEKS - 1)
    first = (spans.mondays < from_monday[:, np.newaxis]).sum(axis=1)
    sizes = counts - first
    width = spans.middles.shape[1] - 1
    taken = np.minimum(first[:, np.newaxis] + np.arange(SLOPE_WEEKS), width)
    values = np.take_along_axis(spans.middles, taken, axis=1)
    mondays = np.take_along_axis(spans.mondays, taken, axis=1)
    weeks = (mondays - mondays[:, :1]) / 7
    found = slopes_of_rows(values, weeks, sizes, is_tested)
    return found, weeks[row, np.minimum(sizes - 1, SLOPE_WEEKS - 1)]


def _onset(sigmas: Floats) -> NDArray[np.int64]:
    """Column in which the one-sided CUSUM last left 0, where it is above its limit; else -1."""
    level, left = np.zeros(len(sigmas)), np.zeros(len(sigmas), np.int64)
    for column in range(sigmas.shape[1]):
        known = ~np.isnan(sigmas[:, column])
        left[known & (level == 0)] = column
        level[known] = np.maximum(0, level[known] + sigmas[known, column] - ALLOWANCE)
    return np.where(level > ONSET_LIMIT, left, -1)


def judge_units(spans: Spans, day: date) -> Drifts:
    """Judge all spans of some units; those that had not begun must be left out.

    What fewer than half of the unit's programs bear out stands alone and is no drift: a worn part
    shows in every program that uses it, and with some thousand series a network always has a few
    that are three weeks outside by luck.
    """
    found = judge(spans, day)
    pairs = spans.pairs()
    outside = np.bincount(pairs, found.reason == "outside")[pairs]
    judged = outside + np.bincount(pairs, found.reason == "usual")[pairs]
    found.reason[(found.reason == "outside") & (2 * outside < judged)] = "alone"
    return found


def unit_p(spans: Spans, found: Drifts) -> Floats:
    """The chance, for each span, that its unit's programs would bear out so much of the feature.

    Of m programs half, rounded up, must bear out a drift: the chance of that many p-values as small
    as the largest of them. The same for all spans of a unit and feature; NaN for those not judged.
    """
    is_judged = np.isin(found.reason.astype(str), ["outside", "alone", "usual"])
    p = np.full(len(spans), np.nan)
    rows = np.flatnonzero(is_judged)
    if len(rows):
        _, group, size = np.unique(spans.pairs()[rows], return_inverse=True, return_counts=True)
        order = np.lexsort((found.run_p[rows], group))
        needed = (size + 1) // 2
        deciding = found.run_p[rows][order][np.cumsum(size) - size + needed - 1]
        p[rows] = stats.binom.sf(needed - 1, size, deciding)[group]
    return p


def drifting(spans: Spans, day: date, units: list[str]) -> NDArray[np.bool_]:
    """Which of these units had any drift on a day."""
    begun = spans.taken(spans.counts(day) > 0)
    # Slopes take long, so they are asked only of features that have left their range at all.
    left = begun.taken(np.isin(begun.pairs(), begun.pairs()[_has_left(begun, day)]))
    if not len(left):
        return np.zeros(len(units), np.bool_)
    found = judge_units(left, day)
    is_drifting = set(left.unit[found.reason == "outside"])
    return np.array([unit in is_drifting for unit in units], np.bool_)


def _has_left(spans: Spans, day: date) -> NDArray[np.bool_]:
    counts = spans.counts(day)
    size = baseline_sizes(counts)
    low, high = quantiles(spans.middles, size, (0.05, 0.95))
    end = np.where(spans.direction > 0, high, -low)[:, np.newaxis]
    taken = np.maximum(counts[:, np.newaxis] - 1 - np.arange(JUDGED_WEEKS), 0)
    judged = np.take_along_axis(spans.middles, taken, axis=1) * spans.direction[:, np.newaxis]
    return np.asarray((size > 0) & (judged > end).all(axis=1))
