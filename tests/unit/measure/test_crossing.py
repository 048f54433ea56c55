from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from pipeline.measure.catalogue import Feature
from pipeline.measure.crossing import crossings, rises
from pipeline.measure.spans import Spans
from pipeline.measure.trend import theil_sen
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


def test_the_lines_of_other_slopes_go_through_the_middle():
    """y = 1 at x = 10: the limit 3 lies 2 above it, so 40, 20 and 10 weeks from there."""
    found = crossings(line(0.1, 0.05, 0.2, 0.0), np.array([3.0]), UP, np.array([10.0]))

    assert (found.soonest[0], found.likely[0], found.latest[0]) == pytest.approx((20, 30, 50))


def spans_of(middles: list[float]) -> Spans:
    """One span, a value a week, the last on Monday 19 October 2026."""
    weeks = [date(2026, 10, 19) - timedelta(weeks=n) for n in range(len(middles))][::-1]
    rows = pl.DataFrame({"week_on": weeks, "middle": middles}).with_columns(
        unit_serial=pl.lit("u"), program=pl.lit("p"), feature=pl.lit("f"),
        begun_on=pl.lit(date(2020, 1, 1)), is_current=pl.lit(True),
    )  # fmt: skip
    return Spans.of(rows, (Feature("f", "", "", "higher", "", ""),))


@pytest.mark.parametrize(("onset_weeks_ago", "weeks"), [(9, 9), (None, 25), (3, 7), (40, 25)])
def test_a_rise_is_drawn_from_its_onset_but_from_eight_weeks_at_least(onset_weeks_ago, weeks):
    values = [0.0] * 20 + [float(n) for n in range(10)]
    spans = spans_of(values)
    onset = -1
    if onset_weeks_ago is not None:
        onset = (date(2026, 10, 19) - timedelta(weeks=onset_weeks_ago)).toordinal()
    found = rises(spans, np.array([30]), np.array([onset]))

    alone = theil_sen(values[-weeks - 1 :], np.arange(weeks + 1))
    assert (found.slopes.low[0], found.slopes.slope[0]) == pytest.approx((alone.low, alone.slope))
    assert (found.last[0], found.middle[0]) == (weeks, weeks / 2)


def test_few_weeks_are_all_there_are():
    found = rises(spans_of([1.0, 2.0, 3.0]), np.array([3]), np.array([-1]))

    assert (found.slopes.slope[0], found.last[0], found.middle[0]) == (1, 2, 1)
