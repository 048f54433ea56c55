import numpy as np
import pytest

from pipeline.measure.crossing import crossings
from pipeline.measure.trend_many import Slopes, slopes_of_rows

# Made-up leak rates, mbar a minute by month; worked out apart from this project.
LEAK = [0.42, 0.45, 0.40, 0.48, 0.51, 0.49, 0.95, 0.55, 0.58, 0.61, 0.60, 0.66]
UP, DOWN = np.array([1.0]), np.array([-1.0])


def line(slope: float, low: float, high: float, intercept: float) -> Slopes:
    return Slopes(*(np.array([one]) for one in (slope, low, high, intercept, 0.01)))


def test_the_leak_reaches_its_limit_in_month_42_give_or_take_a_year():
    slopes = slopes_of_rows(np.array([LEAK]), np.arange(12.0)[np.newaxis], np.array([12]))
    found = crossings(slopes, np.array([1.3]), UP)

    assert found.soonest[0] == pytest.approx(29.6, abs=0.05)
    assert found.likely[0] == pytest.approx(41.7, abs=0.05)
    assert found.latest[0] == pytest.approx(53.2, abs=0.05)


def test_a_lower_limit_is_reached_from_above():
    found = crossings(line(-0.1, -0.2, -0.05, 10.0), np.array([8.0]), DOWN)

    ends = found.soonest[0], found.likely[0], found.latest[0]
    assert ends == pytest.approx((10, 20, 40))


def test_what_may_not_drift_at_all_may_never_get_there():
    found = crossings(line(0.1, -0.1, 0.2, 1.0), np.array([2.0]), UP)

    assert (found.soonest[0], found.likely[0], found.latest[0]) == (5, 10, np.inf)


def test_what_drifts_the_good_way_never_gets_there():
    found = crossings(line(-0.2, -0.3, -0.1, 1.0), np.array([2.0]), UP)

    assert found.soonest[0] == found.latest[0] == np.inf


def test_without_a_limit_nothing_can_be_said():
    assert np.isnan(crossings(line(1, 0.5, 2, 0), np.array([np.nan]), UP).likely[0])
