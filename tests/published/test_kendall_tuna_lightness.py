"""M. Hollander and D. A. Wolfe, Nonparametric Statistical Methods (1973), p. 187: lightness and
taste of nine lots of canned tuna, with the one-sided p-values of the manual page of cor.test in R.
"""

import pytest
from scipy import stats

from pipeline.measure.trend import mann_kendall

LIGHTNESS = [44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1]
TASTE = [2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8]
IN_ORDER = [taste for _, taste in sorted(zip(LIGHTNESS, TASTE, strict=True))]


def test_26_of_36_pairs_rise_together() -> None:
    trend = mann_kendall(IN_ORDER)
    assert trend is not None
    assert trend.score == 26 - 10
    assert trend.tau == pytest.approx(16 / 36)


def test_the_exact_probability_is_the_printed_one_twice() -> None:
    trend = mann_kendall(IN_ORDER)
    assert trend is not None
    assert trend.p / 2 == pytest.approx(0.05972, abs=0.000005)


def test_the_normal_tail_is_the_printed_one_before_the_continuity_correction() -> None:
    trend = mann_kendall(IN_ORDER)
    assert trend is not None
    uncorrected = trend.z * trend.score / (trend.score - 1)
    assert stats.norm.sf(uncorrected) == pytest.approx(0.04765, abs=0.000005)
