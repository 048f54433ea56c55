"""Ranges of a rate: F. Garwood, Biometrika 28 (1936) 437-442, Table I, as quoted to four decimals
in handbooks [from memory], and the distributions of scipy.
"""

import pytest
from scipy import stats

from pipeline.measure.poisson import garwood_bounds, garwood_interval, mid_p_interval


@pytest.mark.parametrize(
    ("events", "low", "high"),
    [
        (0, 0.0, 3.6889),
        (1, 0.0253, 5.5716),
        (2, 0.2422, 7.2247),
        (3, 0.6187, 8.7673),
        (5, 1.6235, 11.6683),
        (10, 4.7954, 18.3904),
        (20, 12.2165, 30.8884),
    ],
)
def test_exact_95_percent_limits(events, low, high):
    interval = garwood_interval(events)
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=0.00005)


def test_each_end_of_the_exact_range_leaves_half_of_the_rest_beyond():
    low, high = garwood_bounds([1, 7, 40], 0.9)

    assert stats.poisson.sf([0, 6, 39], low) == pytest.approx([0.05] * 3)
    assert stats.poisson.cdf([1, 7, 40], high) == pytest.approx([0.05] * 3)


def test_no_events_give_the_rule_of_three_on_one_side():
    """-ln 0.05. Source: J. A. Hanley and A. Lippman-Hand, JAMA 249 (1983) 1743-1745."""
    assert garwood_interval(0, 0.90).high == pytest.approx(2.99573, abs=0.000005)


@pytest.mark.parametrize("events", [0, 1, 4, 25, 300])
def test_mid_p_counts_half_of_the_chance_of_the_count_itself(events):
    interval = mid_p_interval(events)

    for end, tail in ((interval.high, 0.025), (interval.low, 0.975)):
        if end > 0:
            mid = stats.poisson.cdf(events, end) - stats.poisson.pmf(events, end) / 2
            assert mid == pytest.approx(tail, abs=1e-9)
    exact = garwood_interval(events)
    assert exact.low <= interval.low < interval.high < exact.high


def test_mid_p_of_no_events_as_worked_out_by_hand():
    """Half of exp(-x) is 0.025 at x = ln 20."""
    assert mid_p_interval(0).high == pytest.approx(2.995732, abs=1e-6)
    assert mid_p_interval(0).low == 0
