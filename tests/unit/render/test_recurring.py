"""Routine tests as events that come again, expanded by another hand: dateutil's rrule.

RFC 5545: 3.3.10 UNTIL has the type of DTSTART; 3.8.5.3 DTSTART is the first instance of its rule;
3.8.5.1 EXDATE leaves instances out.
"""

from datetime import date, datetime, time, timedelta
from types import SimpleNamespace

import pytest
from dateutil.rrule import rruleset, rrulestr
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar, Event

from pipeline.render.calendar import AHEAD, site_calendar
from pipeline.render.recurring import is_overdue, recurrence
from pipeline.render.tables.routine import RecurringRow

AS_OF = date(2026, 10, 31)  # a Saturday
UNTIL = AS_OF + AHEAD
UNIT = SimpleNamespace(unit_serial="S-1", label="Unit 1")


def row(kind="use_day", test="steam_penetration", **given):
    usual = {
        "asks": None, "days": None, "week_starts": 1, "weekdays": [1, 2, 3, 4, 5],
        "tested_on": AS_OF - timedelta(days=1), "missed_on": None, "closed_on": [],
    }  # fmt: skip
    return RecurringRow(unit_serial="S-1", test=test, kind=kind, **usual | given)


def events(*rows, as_of=AS_OF):
    tables = SimpleNamespace(as_of=as_of, spore_due={}, tasks_due={}, recurring={"S-1": rows})
    scope = SimpleNamespace(tables=tables, in_service=(UNIT,), name="Quay", subject_id="quay")
    *found, _ = Calendar.from_ical(site_calendar(scope)).walk("VEVENT")
    return found


def days(event: Event) -> list[date]:
    """The days of an event, as dateutil works them out from the calendar's own text."""
    first = event["dtstart"].dt
    if "rrule" not in event:
        return [first]
    expanded = rruleset()
    expanded.rrule(rrulestr(event["rrule"].to_ical().decode(), dtstart=at_midnight(first)))
    if "exdate" in event:
        for one in event["exdate"].dts:
            expanded.exdate(at_midnight(one.dt))
    return [one.date() for one in expanded]


def at_midnight(day: date) -> datetime:
    return datetime.combine(day, time())


def ahead(*, weekdays=range(1, 8)):
    every = (AS_OF + timedelta(days=n) for n in range(1, AHEAD.days + 1))
    return [day for day in every if day.isoweekday() in weekdays]


def test_a_daily_test_is_one_event_on_the_weekdays_on_which_the_unit_runs():
    (event,) = events(row())
    assert days(event) == ahead(weekdays=(1, 2, 3, 4, 5))
    assert event["dtstart"].dt == date(2026, 11, 2)
    assert "on any other day on which it is used".casefold() in event["description"].casefold()
    assert b"\r\nRRULE:FREQ=WEEKLY;UNTIL=20261230;BYDAY=MO,TU,WE,TH,FR\r\n" in event.to_ical()
    assert b"DTSTART;VALUE=DATE:20261102" in event.to_ical()


def test_days_on_which_the_unit_is_known_to_be_closed_are_left_out():
    closed = [date(2026, 11, 2), *(date(2026, 12, 21) + timedelta(days=n) for n in range(10))]
    (event,) = events(row(closed_on=closed))
    assert days(event) == [one for one in ahead(weekdays=(1, 2, 3, 4, 5)) if one not in closed]
    # The first day of a series takes place.
    assert event["dtstart"].dt == date(2026, 11, 3)


def test_a_unit_that_is_closed_all_the_time_has_no_event():
    assert events(row(closed_on=ahead())) == []


def test_a_weekly_test_stands_on_the_last_day_of_use_of_each_week_that_has_none_yet():
    """The week of the rule begins on its own weekday: of a week from Wednesday, Monday is last."""
    (event,) = events(row("calendar_week", "leak", weekdays=[1, 3, 5]))
    assert days(event) == ahead(weekdays=(5,))
    (event,) = events(row("calendar_week", "leak", weekdays=[1, 3, 5], week_starts=3,
                          tested_on=date(2026, 10, 27)))  # fmt: skip
    assert days(event) == ahead(weekdays=(1,))
    # Tested on Thursday, the second day of that week: Monday's is done.
    (event,) = events(row("calendar_week", "leak", weekdays=[1, 3, 5], week_starts=3,
                          tested_on=date(2026, 10, 29)))  # fmt: skip
    assert days(event) == ahead(weekdays=(1,))[1:]


def test_a_week_that_is_closed_throughout_is_left_out_and_one_that_is_open_on_a_day_is_not():
    friday, other = date(2026, 11, 13), date(2026, 11, 20)
    closed = [other - timedelta(days=n) for n in range(5)] + [friday]
    (event,) = events(row("calendar_week", "leak", weekdays=[1, 3, 5], closed_on=closed))
    assert days(event) == [one for one in ahead(weekdays=(5,)) if one != other]


def test_a_week_that_passed_without_one_is_told_on_the_next_day_beside_those_to_come():
    late, again = events(row("calendar_week", "leak", missed_on=date(2026, 10, 25)))
    assert days(late) == [AS_OF + timedelta(days=1)]
    assert "past due" in late["summary"] and "past due" not in again["summary"]
    assert late["uid"] != again["uid"]
    assert days(again) == ahead(weekdays=(5,))


@pytest.mark.parametrize(
    ("tested_on", "late", "first"),
    [
        (date(2026, 10, 30), 0, date(2026, 11, 29)),
        (date(2026, 10, 2), 0, date(2026, 11, 1)),
        (date(2026, 10, 1), 1, date(2026, 12, 1)),
        (date(2026, 8, 1), 1, date(2026, 12, 1)),
        (None, 0, date(2026, 11, 1)),
    ],
)
def test_a_test_by_days_is_counted_from_the_last_one(tested_on, late, first):
    found = events(row("interval_days", "leak", days=30, tested_on=tested_on))
    assert len(found) == late + 1
    expected = [first + timedelta(days=30 * n) for n in range(3)]
    assert days(found[-1]) == [one for one in expected if one <= UNTIL]


def test_an_interval_that_ends_after_the_horizon_has_no_event():
    assert events(row("interval_days", "leak", days=365)) == []


def test_each_unit_and_test_keeps_its_name_from_day_to_day():
    rows = (row(), row("calendar_week", "leak", missed_on=date(2026, 10, 25)))
    before = {str(one["uid"]) for one in events(*rows)}
    assert before == {str(one["uid"]) for one in events(*rows, as_of=AS_OF + timedelta(days=1))}
    assert len(before) == 3


@given(
    kind=st.sampled_from(("use_day", "calendar_week", "interval_days")),
    weekdays=st.lists(st.integers(1, 7), min_size=1, unique=True).map(sorted),
    week_starts=st.integers(1, 7),
    every=st.integers(1, 90),
    ago=st.none() | st.integers(0, 200),
    closed=st.sets(st.integers(1, 60)),
)
def test_every_series_begins_with_an_instance_after_today_and_ends_in_time(
    kind, weekdays, week_starts, every, ago, closed
):
    one = row(
        kind, weekdays=weekdays, week_starts=week_starts,
        days=every if kind == "interval_days" else None,
        tested_on=None if ago is None else AS_OF - timedelta(days=ago),
        closed_on=[AS_OF + timedelta(days=n) for n in sorted(closed)],
    )  # fmt: skip
    again = recurrence(one, AS_OF, UNTIL)
    series = [event for event in events(one) if "rrule" in event]
    assert len(series) == (again is not None)
    for event in series:
        found = days(event)
        assert found[0] == event["dtstart"].dt == again.first_on
        assert all(AS_OF < day <= UNTIL for day in found)
        if kind == "use_day":
            assert not {(day - AS_OF).days for day in found} & closed
            assert {day.isoweekday() for day in found} <= set(weekdays)
        if kind == "calendar_week":
            starts = [day - timedelta(days=(day.isoweekday() - week_starts) % 7) for day in found]
            assert len(set(starts)) == len(starts)
        if kind == "interval_days":
            gaps = {(b - a).days for a, b in zip(found, found[1:], strict=False)}
            assert gaps <= {every}
            assert is_overdue(one, AS_OF) == (ago is not None and ago >= every)
