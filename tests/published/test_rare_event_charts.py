"""Charts of what lies between two rare events.

The valve hours are the data usual in textbooks for the transformation of L. S. Nelson, Journal of
Quality Technology 26 (1994) 239-242 [from memory]; the counts of good cycles are made for this
project and worked out with the formulas of J. C. Benneyan, Health Care Management Science 4 (2001).
"""

import pytest
from scipy import stats

from pipeline.measure.control.rare import g_chart, g_limits, t_chart, time_of

VALVE_HOURS = [286, 948, 536, 124, 816, 729, 4, 143, 431, 8, 2837, 596, 81, 227, 603, 492, 1199]
VALVE_HOURS += [1214, 2831, 96]
GOOD_CYCLES = [18, 42, 7, 60, 25, 33, 12, 51, 29, 23]


def test_t_chart_of_valve_failures():
    chart = t_chart(VALVE_HOURS)

    assert chart.points[:4] == pytest.approx([4.80986, 6.70903, 5.72650, 3.81367], abs=5e-6)
    assert chart.centre == pytest.approx(5.3866, abs=1e-4)
    assert chart.high[0] == pytest.approx(11.6621, abs=1e-3)
    assert chart.low[0] == 0
    assert not chart.is_beyond.any()
    assert time_of(chart.centre) == pytest.approx(430, abs=1)
    assert time_of(chart.high[0]) == pytest.approx(6942, abs=5)


def test_g_chart_with_three_sigma_limits():
    chart = g_chart(GOOD_CYCLES)

    assert chart.centre == 30
    assert chart.high[0] == pytest.approx(121.488, abs=1e-3)
    assert chart.low[0] == 0


def test_g_chart_with_limits_by_probability_as_scipy_counts_them():
    limits = g_limits(GOOD_CYCLES)

    # scipy counts the event itself, hence one less.
    expected = stats.geom.ppf([0.00135, 0.99865], 1 / 31) - 1
    assert [limits.low, limits.high] == expected.tolist() == [0, 201]


def test_the_three_sigma_limit_leaves_more_above_than_it_seems_to():
    assert stats.geom.sf(121 + 1, 1 / 31) > 10 * 0.00135
