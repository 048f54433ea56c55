"""R. G. Newcombe, Statistics in Medicine 17 (1998) 873-890, Table II, method 10: 95 % limits of the
difference of two shares, printed to four decimals; and statsmodels, which offers the same method.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import confint_proportions_2indep

from pipeline.measure.difference import newcombe_interval

PRINTED = 0.00005


@pytest.mark.parametrize(
    ("one", "other", "low", "high"),
    [
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((6, 7), (2, 7), 0.0582, 0.8062),
        ((5, 56), (0, 29), -0.0381, 0.1926),
        ((0, 10), (0, 20), -0.1611, 0.2775),
        ((0, 10), (0, 10), -0.2775, 0.2775),
        ((10, 10), (0, 20), 0.6791, 1.0),
        ((10, 10), (0, 10), 0.6075, 1.0),
    ],
)
def test_method_10_as_printed(one, other, low, high):
    interval = newcombe_interval(*one, *other)

    assert interval is not None
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=PRINTED)


def test_positive_spore_tests_in_norway_1985_and_1996():
    """Shares as reported for 1985 (8.8 % of 216: 19) and 1996 (3 of 163), worked out here."""
    interval = newcombe_interval(19, 216, 3, 163)

    assert interval is not None
    assert (interval.low, interval.high) == pytest.approx((0.0234, 0.1165), abs=PRINTED)


@given(st.integers(1, 500), st.integers(1, 500), st.data())
def test_statsmodels_agrees_away_from_the_ends(n, other_n, data):
    x = data.draw(st.integers(0, n))
    other_x = data.draw(st.integers(0, other_n))
    interval = newcombe_interval(x, n, other_x, other_n)

    expected = confint_proportions_2indep(x, n, other_x, other_n, method="newcomb", compare="diff")
    assert interval is not None
    assert (interval.low, interval.high) == pytest.approx(expected, abs=1e-9)


def test_nothing_known_of_one_side_means_nothing_known_of_the_difference():
    assert newcombe_interval(0, 0, 1, 10) is None
    assert newcombe_interval(1, 10, 0, 0) is None
