from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.measure.drift import Series, is_drifting, judge, judge_unit

# Twenty-six weeks that wander between 600 and 610.
BASELINE = [600, 605, 602, 608, 604, 610, 601, 606, 603, 609, 605, 607, 602] * 2


def judged(middles, worse="higher"):
    return judge(np.arange(len(middles)), np.array(middles, np.float64), worse)


def test_the_range_is_that_of_the_first_26_weeks_and_never_of_the_last_three():
    found = judged([*BASELINE, 700, 700, 700])

    assert (found.low, found.high) == tuple(np.quantile(BASELINE, [0.05, 0.95]))
    assert judged([*BASELINE[:8], 700, 700, 700]).high == np.quantile(BASELINE[:8], 0.95)


def test_fewer_than_eleven_weeks_are_too_few():
    assert judged([*BASELINE[:7], 700, 700, 700]).reason == "too_few"
    assert judged([*BASELINE[:8], 700, 700, 700]).reason != "too_few"


# Each series follows the baseline; "slope" rises or falls by two a week from week 14 on.
@pytest.mark.parametrize(
    ("tail", "worse", "weeks_outside", "reason"),
    [
        ([620, 622, 624, 626, 628, 630], "higher", 6, "outside"),
        ([620, 622, 624, 606, 628, 630], "higher", 2, "usual"),
        ([620, 622, 624, 626, 628, 606], "higher", 0, "usual"),
        ([590, 588, 586, 584, 582, 580], "higher", 0, "usual"),
        ([590, 588, 586, 584, 582, 580], "lower", 6, "outside"),
        ([620, 622, 624, 626, 628, 630], "lower", 0, "usual"),
        ([605, 605, 605, 620, 622, 624], "higher", 3, "usual"),
    ],
)
def test_drift_is_three_weeks_outside_on_the_worse_side_and_a_slope_that_agrees(
    tail, worse, weeks_outside, reason
):
    """In the last row the weeks are outside, but 23 level ones keep the slope's interval at 0."""
    found = judged([*BASELINE, *tail], worse)

    assert (found.weeks_outside, found.reason) == (weeks_outside, reason)


def test_the_slope_is_taken_over_the_last_26_weeks_even_when_some_are_missing():
    weeks = np.array([*range(10), *range(30, 50)])
    middles = np.where(weeks < 30, 900.0, weeks * 2.0)
    found = judge(weeks, middles, "higher")

    assert found.slope is not None
    assert (found.slope.slope, found.slope.low, found.slope.high) == (2.0, 2.0, 2.0)


def test_a_series_that_was_never_inside_counts_all_its_weeks():
    found = judged([5.0] * 8 + [1.0] * 3, "higher")
    assert found.weeks_outside == 0
    assert judged([5.0] * 8 + [9.0] * 3, "higher").weeks_outside == 3


def test_one_wild_week_neither_bends_the_slope_nor_makes_a_drift():
    """Made-up leak rates; their slope and its interval were recomputed apart from this project."""
    leaks = [0.42, 0.45, 0.40, 0.48, 0.51, 0.49, 0.95, 0.55, 0.58, 0.61, 0.60, 0.66]
    found = judged(leaks)

    assert found.slope is not None
    assert found.slope.slope == pytest.approx(0.021270, abs=5e-7)
    assert (found.slope.low, found.slope.high) == pytest.approx((0.016667, 0.03), abs=5e-7)
    # The wild week widened the baseline, so nothing is outside it: the range is the unit's own.
    assert found.reason == "usual"


def series_of(program: str, middles: list[float], feature: str = "heat_up_seconds") -> Series:
    """A series whose last week ends on Sunday 1 November 2026."""
    last = date(2026, 10, 26).toordinal()
    mondays = last - 7 * np.arange(len(middles))[::-1]
    return Series(program, feature, "higher", date(2026, 1, 1), mondays, np.array(middles, float))


SUNDAY = date(2026, 11, 1)
AWAY, STEADY = [*BASELINE, 620, 622, 624, 626, 628, 630], [*BASELINE, *BASELINE[:6]]


@pytest.mark.parametrize(
    ("series", "reasons"),
    [
        ([AWAY], ["outside"]),
        ([AWAY, STEADY], ["outside", "usual"]),
        ([AWAY, STEADY, STEADY], ["alone", "usual", "usual"]),
        ([AWAY, AWAY, STEADY, STEADY, STEADY], ["alone", "alone", "usual", "usual", "usual"]),
        ([AWAY, [600.0] * 5, [600.0] * 5], ["outside", "too_few", "too_few"]),
    ],
)
def test_at_least_half_of_the_programs_that_can_be_judged_must_bear_it_out(series, reasons):
    found = judge_unit([series_of(f"p{n}", one) for n, one in enumerate(series)], SUNDAY)

    assert [drift.reason for _, drift in found] == reasons


def test_features_do_not_vouch_for_each_other():
    found = judge_unit(
        [
            series_of("a", AWAY),
            series_of("b", STEADY, "drying_seconds"),
            series_of("c", STEADY, "drying_seconds"),
        ],
        SUNDAY,
    )

    assert [drift.reason for _, drift in found] == ["outside", "usual", "usual"]


def test_a_day_sees_only_the_weeks_that_were_over():
    """The run outside began on 21 September, and its fifth week ended on 25 October.

    Only then did the slope's interval leave 0; the day before, that week was not over.
    """
    series = [series_of("a", AWAY)]
    known = {day: series[0].known_on(date(2026, 10, day)).middles[-1] for day in (24, 25)}

    assert known == {24: 626, 25: 628}
    assert is_drifting(series, date(2026, 10, 25))
    assert not is_drifting(series, date(2026, 10, 24))
    assert judge_unit(series, date(2026, 1, 4)) == []


def test_a_series_without_cycles_for_four_weeks_says_nothing_about_today():
    series = [series_of("a", AWAY)]

    assert is_drifting(series, SUNDAY + timedelta(days=28))
    assert not is_drifting(series, SUNDAY + timedelta(days=29))
