import numpy as np
import pytest

from pipeline.measure.drift import judge

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


def test_the_leak_rate_of_a_published_length_drifts_in_spite_of_one_wild_week():
    """A made-up year of monthly leak rates with one spike, as used to teach Theil-Sen's calm.

    Its slope was recomputed apart from this project: 0.021270 a month, 95 % 0.016667 to 0.030000.
    """
    leaks = [0.42, 0.45, 0.40, 0.48, 0.51, 0.49, 0.95, 0.55, 0.58, 0.61, 0.60, 0.66]
    found = judged(leaks)

    assert found.slope is not None
    assert found.slope.slope == pytest.approx(0.021270, abs=5e-7)
    assert (found.slope.low, found.slope.high) == pytest.approx((0.016667, 0.03), abs=5e-7)
    # The spike widened the baseline, so nothing is called outside: the range is the unit's own.
    assert found.reason == "usual"
