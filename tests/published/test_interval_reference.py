"""Ranges of one share against statsmodels, and the p and u charts of two small cases worked out for
this project with the formulas of NIST/SEMATECH e-Handbook 6.3.3.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from pipeline.measure.control.counts import p_chart, u_chart
from pipeline.measure.intervals import exact_interval, jeffreys_interval, wilson_interval

COUNTS = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(COUNTS, st.sampled_from([0.8, 0.9, 0.95]))
def test_each_method_gives_what_statsmodels_gives(x_of_n, confidence):
    for ours, theirs in ((wilson_interval, "wilson"), (exact_interval, "beta")):
        interval = ours(*x_of_n, confidence)
        expected = proportion_confint(*x_of_n, alpha=1 - confidence, method=theirs)
        assert interval is not None
        assert (interval.low, interval.high) == pytest.approx(expected, abs=1e-8)


@given(COUNTS)
def test_jeffreys_gives_what_statsmodels_gives_but_reaches_the_ends(x_of_n):
    x, n = x_of_n
    interval = jeffreys_interval(x, n)

    low, high = proportion_confint(x, n, method="jeffreys")
    assert interval is not None
    assert interval.low == pytest.approx(0 if x == 0 else low, abs=1e-9)
    assert interval.high == pytest.approx(1 if x == n else high, abs=1e-9)


def test_p_chart_of_unequal_totals():
    chart = p_chart([2, 5, 1, 9, 0, 4], [60, 85, 40, 90, 25, 70])

    assert chart.centre == pytest.approx(0.0567568, abs=5e-8)
    assert chart.high == pytest.approx([0.1464, 0.1320, 0.1665, 0.1299, 0.1956, 0.1397], abs=5e-5)
    assert not chart.is_beyond.any()


def test_u_chart_of_unequal_exposures():
    chart = u_chart([2, 1, 4, 0, 3, 7], [1.2, 0.9, 1.5, 0.8, 1.1, 1.3])

    assert chart.centre == 2.5
    limits = [6.8301, 7.5000, 6.3730, 7.8033, 7.0227, 6.6603]
    assert chart.high == pytest.approx(limits, abs=5e-5)
