"""Slopes: the example of P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389, section 6, and one
case made for this project, a leak rate that creeps up with a wild value, worked out the long way.

Sen's figures are quoted as scipy's own tests quote them.
"""

from itertools import combinations
from statistics import median

import pytest
from scipy import stats

from pipeline.measure.trend import mann_kendall, theil_sen

# mbar a minute, month by month; the seventh is the wild one.
LEAK = [0.42, 0.45, 0.40, 0.48, 0.51, 0.49, 0.95, 0.55, 0.58, 0.61, 0.60, 0.66]


def test_sen_s_example_gives_slope_and_93_percent_interval_as_printed() -> None:
    slope = theil_sen([9, 15, 19, 20, 45, 55, 78], [1, 2, 3, 4, 10, 12, 18], confidence=0.93)
    assert slope is not None
    assert slope.slope == pytest.approx(4)
    assert slope.low == pytest.approx(3.71, abs=0.005)
    assert slope.high == pytest.approx(4.38, abs=0.006)
    assert slope.intercept == pytest.approx(4)


def test_the_slope_is_the_median_of_all_pairs_and_ignores_the_wild_value() -> None:
    slope = theil_sen(LEAK, range(12))
    assert slope is not None
    pairs = [(LEAK[b] - LEAK[a]) / (b - a) for a, b in combinations(range(12), 2)]
    assert slope.slope == pytest.approx(median(pairs))
    assert slope.slope == pytest.approx(0.021270, abs=0.0000005)
    assert (slope.low, slope.high) == pytest.approx((0.016667, 0.030000), abs=0.0000005)
    assert slope.intercept == pytest.approx(median(LEAK) - slope.slope * median(range(12)))
    assert slope.intercept == pytest.approx(0.413016, abs=0.0000005)


def test_the_trend_counts_rises_less_falls_and_finds_the_drift() -> None:
    trend = mann_kendall(LEAK)
    assert trend is not None
    rises = sum((b > a) - (b < a) for a, b in combinations(LEAK, 2))
    assert trend.score == rises == 48
    # Variance of the score without ties, n (n-1) (2n+5) / 18. Source: Kendall, Rank Correlation.
    assert trend.z == pytest.approx(47 / (12 * 11 * 29 / 18) ** 0.5)
    assert trend.z == pytest.approx(3.2229, abs=0.00005)
    assert 2 * stats.norm.sf(trend.z) == pytest.approx(0.00127, abs=0.000005)
    assert trend.tau == pytest.approx(0.7273, abs=0.00005)
    assert trend.p == pytest.approx(0.000499, abs=0.0000005)
