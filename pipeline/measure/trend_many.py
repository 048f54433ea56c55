"""The slopes of `trend` for many short series at once, each a row of a matrix.

Rows are cut to one length first, so that no number has to be left out within a row. All pairs of a
portion of rows are held in memory together; how the rows are portioned does not change a bit of the
result.

Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389; K. H. Hamed and A. R. Rao, Journal of
Hydrology 204 (1998) 182-196.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from pipeline.measure.intervals import Floats
from pipeline.measure.trend import FEWEST_POINTS

PAIRS_AT_ONCE = 2_000_000
"""Slopes held at a time, 16 MB."""
CONFIDENCE = 0.95
LAG_P = 0.05
"""A lag counts when its autocorrelation differs from 0 at this level."""


@dataclass(frozen=True, slots=True)
class Slopes:
    """Slope, both ends of its interval, intercept at x = 0 and the p-value; NaN where unknown.

    p is two-sided, of the Mann-Kendall score with Hamed and Rao's variance, which allows for weeks
    that resemble their neighbours.
    """

    slope: Floats
    low: Floats
    high: Floats
    intercept: Floats
    p: Floats


def slopes_of_rows(
    y: Floats, x: Floats, sizes: NDArray[np.int64], is_tested: NDArray[np.bool_] | None = None
) -> Slopes:
    """Theil-Sen slopes of the first `sizes` points of each row; x never falls within a row.

    NaN for rows of fewer than three points, or of one same x. The interval is that of
    `trend.theil_sen`. Points of the same x have no slope between them and no order in time. p takes
    as long as the rest, so it is worked out for rows that are tested only, else NaN; all unless
    said.
    """
    found = np.full((5, len(y)), np.nan)
    for size in np.unique(sizes).tolist():
        if size < FEWEST_POINTS:
            continue
        rows = np.flatnonzero(sizes == size)
        for part in _portions(rows, size * (size - 1) // 2):
            *found[:4, part], score, variance = _of_one_length(y[part, :size], x[part, :size])
            asked = slice(None) if is_tested is None else is_tested[part]
            part, line = part[asked], found[0, part[asked], np.newaxis]
            residuals = y[part, :size] - line * x[part, :size]
            found[4, part] = _p_values(score[asked], variance[asked], residuals)
    return Slopes(*found)


def _portions(rows: NDArray[np.int64], pairs: int) -> Iterator[NDArray[np.int64]]:
    portion = max(1, PAIRS_AT_ONCE // pairs)
    for first in range(0, len(rows), portion):
        yield rows[first : first + portion]


def _of_one_length(y: Floats, x: Floats) -> tuple[Floats, ...]:
    """Slope, its low and high end, intercept, and the Mann-Kendall score with its variance."""
    ordered = np.sort(y, axis=1)
    has_ties = bool((x[:, 1:] == x[:, :-1]).any())
    rise = _rises(y, x, has_ties=has_ties)
    score = np.count_nonzero(rise > 0, axis=1) - np.count_nonzero(rise < 0, axis=1)
    rise.sort(axis=1)  # what is NaN comes last
    everywhere = np.full(len(y), rise.shape[1])
    pairs = np.count_nonzero(rise == rise, axis=1) if has_ties else everywhere
    slope = _middle(rise, pairs)
    variance = _score_variance(ordered, x)
    # The ranks between which the interval lies; scipy rounds them the same way.
    reach = special.ndtri((1 + CONFIDENCE) / 2) * np.sqrt(variance)
    upper = np.minimum(np.round((pairs + reach) / 2).astype(np.int64), np.maximum(pairs - 1, 0))
    lower = np.maximum(np.round((pairs - reach) / 2).astype(np.int64) - 1, 0)
    row, size = np.arange(len(y)), np.full(len(y), y.shape[1])
    intercept = _middle(ordered, size) - slope * _middle(x, size)
    return slope, rise[row, lower], rise[row, upper], intercept, score, variance


def _rises(y: Floats, x: Floats, *, has_ties: bool) -> Floats:
    """The slopes between all pairs of a row, NaN between points of the same x.

    Pairs that lie equally far apart in the row stand side by side, so that nothing is gathered.
    """
    size = y.shape[1]
    rise = np.empty((len(y), size * (size - 1) // 2))
    end = 0
    for lag in range(1, size):
        part = rise[:, end : end + size - lag]
        np.subtract(y[:, lag:], y[:, :-lag], out=part)
        apart = x[:, lag:] - x[:, :-lag]
        if has_ties:
            apart[apart == 0] = np.nan
        part /= apart
        end += size - lag
    return rise


def _p_values(score: Floats, variance: Floats, residuals: Floats) -> Floats:
    inflated = variance * autocorrelation_factor(residuals)
    with np.errstate(invalid="ignore", divide="ignore"):
        z = np.sign(score) * np.maximum(np.abs(score) - 1, 0) / np.sqrt(inflated)
    # A row of one value throughout has no variance, and no trend.
    return np.where(variance > 1e-9, 2 * special.ndtr(-np.abs(z)), 1.0)


def _middle(ordered: Floats, sizes: NDArray[np.int64]) -> Floats:
    """Median of the first `sizes` numbers of each row; NaN for none."""
    row = np.arange(len(ordered))
    below, above = np.maximum(sizes - 1, 0) // 2, np.minimum(sizes // 2, ordered.shape[1] - 1)
    return np.asarray((ordered[row, below] + ordered[row, above]) / 2)


def _score_variance(y: Floats, x: Floats) -> Floats:
    """Variance of the Mann-Kendall score of rows in order, with its corrections for ties of either.

    Source: M. G. Kendall, Rank Correlation Methods (4th ed. 1970), chapter 4.
    """
    size = y.shape[1]
    of_y, of_x = _ties(y), _ties(x)
    spread = [(ties * (ties - 1) * (2 * ties + 5)).sum(axis=1) for ties in (of_y, of_x)]
    twos = [(ties * (ties - 1)).sum(axis=1) for ties in (of_y, of_x)]
    threes = [(ties * (ties - 1) * (ties - 2)).sum(axis=1) for ties in (of_y, of_x)]
    pairs = size * (size - 1.0)
    return np.asarray(
        (pairs * (2 * size + 5) - spread[0] - spread[1]) / 18
        + threes[0] * threes[1] / (9 * pairs * (size - 2))
        + twos[0] * twos[1] / (2 * pairs)
    )


def _ties(ordered: Floats) -> Floats:
    """How many of a row share each of its values, padded with 0."""
    size = ordered.shape[1]
    is_first = np.ones(ordered.shape, np.bool_)
    is_first[:, 1:] = ordered[:, 1:] != ordered[:, :-1]
    if is_first.all():
        return np.ones(ordered.shape)
    group = np.cumsum(is_first, axis=1) - 1 + size * np.arange(len(ordered))[:, np.newaxis]
    ties = np.bincount(group.ravel(), minlength=ordered.size).reshape(ordered.shape)
    return ties.astype(np.float64)


def autocorrelation_factor(residuals: Floats) -> Floats:
    """How many times as large the score's variance is when neighbours resemble each other.

    From the autocorrelations of the ranks of what the trend leaves, those that differ from 0 at
    5 %. In short series that is a part of the truth only: half a year of weeks that lean on each
    other at 0.6 still seem to have a trend three times too often. Convention: never below 1, so
    that weeks that alternate do not make a trend surer; the paper lets it fall below.
    """
    size = residuals.shape[1]
    ranks = stats.rankdata(residuals, axis=1)
    ranks -= ranks.mean(axis=1, keepdims=True)
    total = (ranks**2).sum(axis=1)
    factor = np.ones(len(residuals))
    bound = -special.ndtri(LAG_P / 2) / np.sqrt(size)
    for lag in range(1, size - 2):
        with np.errstate(invalid="ignore", divide="ignore"):
            likeness = (ranks[:, lag:] * ranks[:, :-lag]).sum(axis=1) / total
        weight = 2 * (size - lag) * (size - lag - 1) * (size - lag - 2)
        weight /= size * (size - 1) * (size - 2)
        factor += np.where(np.abs(likeness) > bound, weight * likeness, 0.0)
    return np.maximum(factor, 1.0)
