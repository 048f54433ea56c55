from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pipeline.measure.trend import Slope, Trend, mann_kendall, theil_sen

STEADY = settings(derandomize=True, deadline=None)
series = st.lists(st.integers(-50, 50), min_size=3, max_size=40)


@pytest.mark.parametrize(
    ("y", "x"),
    [
        ([], []),
        ([1, 2], [0, 1]),  # too few
        ([1, 2, 3], [4, 4, 4]),  # all in the same week
    ],
)
def test_too_little_to_draw_a_line_through_gives_none(y, x) -> None:
    assert theil_sen(y, x) is None


def test_a_constant_series_has_slope_nought_for_certain() -> None:
    assert theil_sen([7, 7, 7, 7], [0, 1, 2, 5]) == Slope(0.0, 0.0, 0.0, 7.0)
    assert mann_kendall([7, 7, 7, 7]) == Trend(score=0, tau=0.0, z=0.0, p=1.0)


def test_two_values_in_the_same_week_are_both_used() -> None:
    slope = theil_sen([0, 1, 2, 9], [0, 1, 2, 2])
    assert slope is not None
    assert slope.slope == np.median([1, 1, 4.5, 1, 8])


def test_what_is_not_known_may_not_be_passed_on() -> None:
    with pytest.raises(AssertionError, match="NaN"):
        theil_sen([1, float("nan"), 3], [0, 1, 2])


@STEADY
@given(series, st.integers(1, 9), st.integers(-20, 20))
def test_stretching_and_lifting_the_values_does_the_same_to_the_line(y, times, lift) -> None:
    x = range(len(y))
    plain = theil_sen(y, x)
    moved = theil_sen([value * times + lift for value in y], x)
    assert plain.low <= plain.slope <= plain.high
    assert moved.slope == pytest.approx(plain.slope * times)
    assert (moved.low, moved.high) == pytest.approx((plain.low * times, plain.high * times))
    assert moved.intercept == pytest.approx(plain.intercept * times + lift)


@STEADY
@given(series)
def test_the_score_counts_rises_less_falls_and_turns_with_time(y) -> None:
    trend, back = mann_kendall(y), mann_kendall(y[::-1])
    assert trend.score == sum(int(np.sign(b - a)) for a, b in combinations(y, 2))
    assert (back.score, back.z, back.p) == pytest.approx((-trend.score, -trend.z, trend.p))


@pytest.mark.parametrize("count", [0, 2])
def test_fewer_than_three_values_have_no_trend(count: int) -> None:
    assert mann_kendall(range(count)) is None


def test_ties_narrow_the_spread_of_the_score() -> None:
    # Variance with ties: (n (n-1) (2n+5) - sum t (t-1) (2t+5)) / 18. Source: Kendall, 1970.
    y = [1, 1, 2, 3, 3, 3, 4, 6, 5, 7]
    trend = mann_kendall(y)
    variance = (10 * 9 * 25 - 2 * 1 * 9 - 3 * 2 * 11) / 18
    assert trend.z == pytest.approx((trend.score - 1) / variance**0.5)
    # scipy's tail for ties is the normal one without the continuity correction.
    assert trend.p == pytest.approx(2 * stats.norm.sf(trend.score / variance**0.5))
