from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from pipeline.measure.catalogue import Feature
from pipeline.measure.drift import Drifts, drifting, judge, judge_units, unit_p
from pipeline.measure.spans import Spans

# Twenty-six weeks that wander between 600 and 610.
BASELINE = [600, 605, 602, 608, 604, 610, 601, 606, 603, 609, 605, 607, 602] * 2


LAST = date(2026, 10, 26)
SUNDAY = date(2026, 11, 1)


def spans(*series, unit: str = "a") -> Spans:
    """Spans of (program, feature, worse, weeks, middles) of a unit; the last week is given as 0."""
    rows = [
        {
            "unit_serial": unit,
            "program": program,
            "feature": feature,
            "begun_on": date(2026, 1, 1),
            "is_current": True,
            "week_on": LAST + timedelta(weeks=int(week)),
            "middle": float(middle),
        }
        for program, feature, worse, weeks, middles in sorted(series, key=lambda one: one[:2])
        for week, middle in zip(weeks, middles, strict=True)
    ]
    features = tuple(Feature(feature, "", "", worse, "", "") for _, feature, worse, *_ in series)
    return Spans.of(pl.DataFrame(rows), features)


def weeks_to_now(middles) -> np.ndarray:
    return np.arange(len(middles)) - len(middles) + 1


def judged(middles, worse="higher", weeks=None) -> Drifts:
    weeks = weeks_to_now(middles) if weeks is None else weeks
    return judge(spans(("p", "heat_up_seconds", worse, weeks, middles)), SUNDAY)


def test_the_range_is_that_of_the_first_26_weeks_and_never_of_the_last_three():
    found = judged([*BASELINE, 700, 700, 700])

    assert (found.low[0], found.high[0]) == pytest.approx(np.quantile(BASELINE, [0.05, 0.95]))
    assert judged([*BASELINE[:8], 700, 700, 700]).high == pytest.approx(
        np.quantile(BASELINE[:8], 0.95)
    )


def test_fewer_than_eleven_weeks_are_too_few():
    assert judged([*BASELINE[:7], 700, 700, 700]).reason[0] == "too_few"
    assert judged([*BASELINE[:8], 700, 700, 700]).reason[0] != "too_few"


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

    assert (found.weeks_outside[0], found.reason[0]) == (weeks_outside, reason)


def test_the_slope_is_taken_over_the_last_26_weeks_even_when_some_are_missing():
    weeks = np.array([*range(10), *range(30, 50)])
    middles = np.where(weeks < 30, 900.0, weeks * 2.0)
    found = judged(middles, weeks=weeks - 49).slopes

    assert (found.slope[0], found.low[0], found.high[0]) == (2.0, 2.0, 2.0)


def test_a_series_that_was_never_inside_counts_all_its_weeks():
    assert judged([5.0] * 8 + [1.0] * 3).weeks_outside[0] == 0
    assert judged([5.0] * 8 + [9.0] * 3).weeks_outside[0] == 3


def test_one_wild_week_neither_bends_the_slope_nor_makes_a_drift():
    """Made-up leak rates; their slope and its interval were recomputed apart from this project."""
    leaks = [0.42, 0.45, 0.40, 0.48, 0.51, 0.49, 0.95, 0.55, 0.58, 0.61, 0.60, 0.66]
    found = judged(leaks)

    assert found.slopes.slope[0] == pytest.approx(0.021270, abs=5e-7)
    ends = found.slopes.low[0], found.slopes.high[0]
    assert ends == pytest.approx((0.016667, 0.03), abs=5e-7)
    # The wild week widened the baseline, so nothing is outside it: the range is the unit's own.
    assert found.reason[0] == "usual"


def programs(*middles, feature: str = "heat_up_seconds") -> list[tuple]:
    return [
        (f"p{number}", feature, "higher", weeks_to_now(one), one)
        for number, one in enumerate(middles)
    ]


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
    found = judge_units(spans(*programs(*series)), SUNDAY)

    assert found.reason.tolist() == reasons


def test_features_do_not_vouch_for_each_other():
    found = judge_units(
        spans(*programs(AWAY), *programs(STEADY, STEADY, feature="drying_seconds")), SUNDAY
    )

    assert sorted(found.reason) == ["outside", "usual", "usual"]


def test_a_day_sees_only_the_weeks_that_were_over():
    """The run outside began on 21 September, and its fifth week ended on 25 October.

    Only then did the slope's interval leave 0; the day before, that week was not over.
    """
    one = spans(*programs(AWAY))

    assert [one.counts(date(2026, 10, day))[0] for day in (24, 25)] == [30, 31]
    assert drifting(one, date(2026, 10, 25), ["a"]).all()
    assert not drifting(one, date(2026, 10, 24), ["a"]).any()
    assert not drifting(one, date(2026, 1, 4), ["a"]).any()


def test_a_series_without_cycles_for_four_weeks_says_nothing_about_today():
    one = spans(*programs(AWAY))

    assert drifting(one, SUNDAY + timedelta(days=28), ["a"]).all()
    assert not drifting(one, SUNDAY + timedelta(days=29), ["a"]).any()


def test_the_onset_is_the_week_in_which_the_rise_began():
    found = judge(spans(*programs(AWAY)), SUNDAY)

    assert found.onset_on[0] == found.since_on[0] == (LAST - timedelta(weeks=5)).toordinal()
    assert judge(spans(*programs(STEADY)), SUNDAY).onset_on[0] == -1


def test_a_creeping_rise_has_its_onset_before_it_leaves_the_range():
    creeping = [*BASELINE, *(605 + 2 * week for week in range(12))]
    found = judge(spans(*programs(creeping)), SUNDAY)

    assert LAST - timedelta(weeks=12) <= date.fromordinal(int(found.onset_on[0]))
    assert found.onset_on[0] < found.since_on[0]


def test_weeks_outside_in_a_row_are_as_rare_as_ranks_make_them():
    """Seeded: of 200,000 level spans of 26 and 3 weeks, as many are three weeks outside as said."""
    values = np.random.default_rng(4).normal(0, 1, (200_000, 29))
    high = np.quantile(values[:, :26], 0.95, axis=1)
    share = (values[:, 26:] > high[:, np.newaxis]).all(axis=1).mean()
    p = judged([*BASELINE, 700, 700, 700]).run_p[0]

    assert p == pytest.approx(2.25 * 3.25 * 4.25 / (27 * 28 * 29))
    assert share == pytest.approx(p, rel=0.15)


def test_programs_that_agree_make_a_drift_less_likely_to_be_luck():
    alone = spans(*programs(AWAY))
    both = spans(*programs(AWAY, AWAY, STEADY))
    p = judge(alone, SUNDAY).run_p[0]

    assert unit_p(alone, judge_units(alone, SUNDAY)).tolist() == [p]
    assert unit_p(both, judge_units(both, SUNDAY)) == pytest.approx([3 * p**2 - 2 * p**3] * 3)


def test_a_span_ends_with_a_service_and_both_are_kept():
    rows = pl.DataFrame(
        {
            "unit_serial": ["a"] * 4,
            "program": ["p"] * 4,
            "feature": ["heat_up_seconds"] * 4,
            "begun_on": [date(2026, 1, 1)] * 2 + [date(2026, 6, 1)] * 2,
            "is_current": [False, False, True, True],
            "week_on": [LAST - timedelta(weeks=week) for week in (30, 29, 1, 0)],
            "middle": [1.0, 2.0, 3.0, 4.0],
        }
    )
    found = Spans.of(rows, (Feature("heat_up_seconds", "", "", "higher", "", ""),))

    assert found.middles.tolist() == [[1.0, 2.0], [3.0, 4.0]]
    assert found.is_current.tolist() == [False, True]
    assert found.counts(LAST).tolist() == [2, 1]
