"""Is a measured value drifting: slope that one wild value cannot bend, and a test for any trend.

The work is scipy's; here are the questions put to it and the cases in which there is no answer.
Units are those of the values given.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

FEWEST_POINTS = 3


@dataclass(frozen=True, slots=True)
class Slope:
    """A line: `slope` in y for each one of x, with its interval, and y where x is 0."""

    slope: float
    low: float
    high: float
    intercept: float


@dataclass(frozen=True, slots=True)
class Trend:
    """Rises less falls among all pairs, as a count (score), a share (tau) and in sigmas (z)."""

    score: int
    tau: float
    z: float
    p: float


def theil_sen(y: ArrayLike, x: ArrayLike, confidence: float = 0.95) -> Slope | None:
    """Median of the slopes between all pairs; None for fewer than three points or one same x.

    The interval is Sen's, ordered slopes counted off by the normal approximation to Kendall's
    score with its correction for ties; below some six points it reaches the steepest and the
    flattest pair and covers less than it says. The intercept is scipy's "separate" one, median of
    y less slope times median of x, and has no interval.
    Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389.
    """
    values, at = _finite(y), _finite(x)
    assert values.shape == at.shape, "as many y as x"
    if len(values) < FEWEST_POINTS or np.ptp(at) == 0:
        return None
    found = stats.theilslopes(values, at, alpha=confidence, method="separate")
    return Slope(
        float(found.slope), float(found.low_slope), float(found.high_slope), float(found.intercept)
    )


def mann_kendall(y: ArrayLike) -> Trend | None:
    """Test for a steady rise or fall in a series in order of time; None for fewer than three.

    p is scipy's, two-sided: exact without ties up to 33 values (and for nearly perfect order),
    else normal. z is for comparison with printed tables: corrected for ties and continuity, so its
    own tail is not p. A constant series has p 1.
    Source: M. G. Kendall, Rank Correlation Methods (4th ed. 1970), chapters 3 to 5.
    """
    values = _finite(y)
    n = len(values)
    if n < FEWEST_POINTS:
        return None
    if np.ptp(values) == 0:
        return Trend(score=0, tau=0.0, z=0.0, p=1.0)
    found = stats.kendalltau(np.arange(n), values)
    ties = np.unique(values, return_counts=True)[1]
    pairs, tied_pairs = n * (n - 1) / 2, (ties * (ties - 1) / 2).sum()
    score = round(found.statistic * (pairs * (pairs - tied_pairs)) ** 0.5)
    variance = _score_variance(np.array([n])) - _score_variance(ties)
    z = np.sign(score) * max(abs(score) - 1, 0) / variance**0.5
    return Trend(score, float(found.statistic), float(z), float(found.pvalue))


def _score_variance(sizes: np.ndarray) -> float:
    return float((sizes * (sizes - 1.0) * (2 * sizes + 5)).sum() / 18)


def _finite(numbers: ArrayLike) -> np.ndarray:
    array = np.asarray(numbers, dtype=np.float64)
    assert np.isfinite(array).all(), "what is not known is left out before, not passed as NaN"
    return array
