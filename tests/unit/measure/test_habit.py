from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.measure.habit import Intervals, judge

AS_OF = date(2026, 10, 31)


def intervals_of(shares: list[float], last_on: date = AS_OF, every: int = 7) -> Intervals:
    """One interval ended every so many days, the last of them on last_on."""
    days = [last_on - timedelta(days=every * n) for n in range(len(shares))][::-1]
    return Intervals(
        ["u"],
        np.zeros(len(shares), np.int64),
        np.array([day.toordinal() for day in days]),
        np.array(shares),
        np.array(shares) > 1.3,
    )


RISING = [0.8 + 0.02 * n for n in range(40)]


@pytest.mark.parametrize(
    ("shares", "state"),
    [
        (RISING, "look_into"),
        ([1.0] * 40, "usual"),
        ([1.6] * 40, "usual"),
        (RISING[::-1], "usual"),
        ([0.1 + 0.02 * n for n in range(40)], "usual"),
        (RISING[-12:], "look_into"),
        (RISING[-11:], "too_few"),
    ],
)
def test_a_habit_is_looked_into_when_it_gets_later_and_is_past_due_by_now(shares, state):
    """Always late is not later and later, and later but still in time is no fault."""
    assert judge(intervals_of(shares), AS_OF).state.tolist() == [state]


def test_the_slope_is_in_shares_of_what_is_allowed_a_year():
    found = judge(intervals_of(RISING), AS_OF)

    assert found.slopes.slope == pytest.approx(0.02 / 7 * 365.25)
    assert (found.interval_count, found.late_count) == (40, sum(one > 1.3 for one in RISING))


def test_only_intervals_that_ended_in_the_year_count():
    old = intervals_of(RISING, last_on=date(2025, 10, 31))

    assert judge(old, AS_OF).interval_count == 0
    assert judge(intervals_of([1.0], last_on=date(2025, 11, 1)), AS_OF).interval_count == 1


def test_the_past_is_judged_by_what_had_ended_by_then():
    assert judge(intervals_of(RISING), AS_OF - timedelta(days=7 * 30)).interval_count == 10


def test_a_unit_that_ended_nothing_lately_is_not_late_now():
    assert judge(intervals_of(RISING, last_on=date(2026, 7, 1)), AS_OF).state.tolist() == ["usual"]


def test_each_subject_is_judged_by_its_own_intervals_however_many_there_are():
    early, late = intervals_of(RISING), intervals_of([1.6] * 9)
    both = Intervals(
        ["a", "b", "c"],
        np.repeat([0, 2], [40, 9]),
        *(
            np.concatenate([getattr(early, name), getattr(late, name)])
            for name in ("ended", "used_share", "is_late")
        ),
    )

    found = judge(both, AS_OF)
    assert found.state.tolist() == ["look_into", "too_few", "too_few"]
    assert found.interval_count.tolist() == [40, 0, 9]
    assert found.late_count.tolist() == [14, 0, 9]
    turned = judge(both.of(["c", "a"]), AS_OF)
    assert turned.state.tolist() == ["too_few", "look_into"]
    assert both.of(["c", "a"]).first_days() == [
        AS_OF - timedelta(days=56),
        AS_OF - timedelta(days=273),
    ]


def test_acts_of_one_day_have_no_order():
    """Two tasks are always done on one day, one of them later in its interval: no slope."""
    one = intervals_of([0.5, 1.5] * 20)
    same_days = Intervals(one.subjects, one.of_subject, np.sort(np.repeat(one.ended[::2], 2)),
                          one.used_share, one.is_late)  # fmt: skip

    assert judge(same_days, AS_OF).slopes.slope == pytest.approx([0])
