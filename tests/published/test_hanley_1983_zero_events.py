"""J. A. Hanley and A. Lippman-Hand, "If nothing goes wrong, is everything all right?", JAMA 249
(1983) 1743-1745: after none of n the one-sided 95 % limit is close to 3/n, better the larger n.

Paper cited from memory; the limit itself, 1 - 0.05 ** (1/n), is elementary.
"""

import pytest

from pipeline.measure.intervals import exact_interval


@pytest.mark.parametrize("total", [30, 52, 100, 1000])
def test_after_no_event_the_exact_limit_is_just_below_three_over_n(total: int) -> None:
    interval = exact_interval(0, total, confidence=0.90)
    assert interval is not None
    assert interval.high == pytest.approx(1 - 0.05 ** (1 / total), rel=1e-9)
    assert 0.95 * 3 / total < interval.high < 3 / total


def test_a_year_of_weekly_tests_without_growth_leaves_up_to_5_6_percent() -> None:
    interval = exact_interval(0, 52, confidence=0.90)
    assert interval is not None
    assert interval.high == pytest.approx(0.05598, abs=0.000005)
