"""On which of the coming days a routine test is asked for, as a rule that a calendar repeats.

RFC 5545, 3.3.10 and 3.8.5: the first day is an instance of its rule, and UNTIL is a day where the
first is one. Nothing here knows how a calendar is written.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.render.tables.routine import RecurringRow

_DAY = timedelta(days=1)
_WEEK = 7


@dataclass(frozen=True, slots=True)
class Recurrence:
    """A day, and how it comes again up to `until`; `left_out` are instances that do not take place.

    `weekdays` are those of ISO 8601, 1 Monday; none where every so many days count.
    """

    first_on: date
    until: date
    weekdays: tuple[int, ...] = ()
    every_days: int = 1
    left_out: tuple[date, ...] = ()


def is_overdue(row: RecurringRow, as_of: date) -> bool:
    """Whether a test is past due by now: by days, or a week of use passed without one."""
    return was_due_on(row, as_of) is not None


def was_due_on(row: RecurringRow, as_of: date) -> date | None:
    """The last day on which a test that is past due was in time; None when none is past due.

    One that each day of use asks for cannot be made good on a later day.
    """
    if row.kind == "calendar_week":
        return row.missed_on
    if row.kind == "interval_days" and row.tested_on is not None:
        due_on = _due_on(row, row.tested_on)
        return due_on if due_on <= as_of else None
    return None


def recurrence(row: RecurringRow, as_of: date, until: date) -> Recurrence | None:
    """The days after the as-of day on which the test is asked for; None when there is none."""
    if row.kind == "interval_days":
        return _by_days(row, as_of, until)
    weekdays = tuple(row.weekdays)
    if row.kind == "calendar_week":
        # The last day of the unit's week is the last on which the test is in time.
        weekdays = (max(row.weekdays, key=lambda one: (one - row.week_starts) % _WEEK),)
    closed = set(row.closed_on)
    left_out: list[date] = []
    first_on = None
    for day in _days(as_of + _DAY, until):
        if day.isoweekday() not in weekdays:
            continue
        if _is_off(row, day, closed) or _is_done(row, day):
            left_out.append(day)
        elif first_on is None:
            first_on = day
    if first_on is None:
        return None
    return Recurrence(
        first_on, until, weekdays, left_out=tuple(day for day in left_out if day > first_on)
    )


def _by_days(row: RecurringRow, as_of: date, until: date) -> Recurrence | None:
    every = row.days or 1
    first_on = as_of + _DAY
    if row.tested_on is not None:
        # What is overdue has an event of its own; the next is due so long after that.
        due_on = _due_on(row, row.tested_on)
        first_on = due_on if due_on > as_of else first_on + timedelta(days=every)
    return Recurrence(first_on, until, every_days=every) if first_on <= until else None


def _due_on(row: RecurringRow, tested_on: date) -> date:
    return tested_on + timedelta(days=row.days or 1)


def _is_off(row: RecurringRow, day: date, closed: set[date]) -> bool:
    """Whether the unit is closed on this day; by weekly rules, on all days of use of its week."""
    if row.kind != "calendar_week":
        return day in closed
    first = _week_on(row, day)
    week = _days(first, first + timedelta(days=_WEEK - 1))
    return all(one in closed for one in week if one.isoweekday() in row.weekdays)


def _is_done(row: RecurringRow, day: date) -> bool:
    """Whether a test of the day's own week has been run already, by weekly rules."""
    return (
        row.kind == "calendar_week"
        and row.tested_on is not None
        and row.tested_on >= _week_on(row, day)
    )


def _week_on(row: RecurringRow, day: date) -> date:
    return day - timedelta(days=(day.isoweekday() - row.week_starts) % _WEEK)


def _days(first: date, last: date) -> Iterator[date]:
    for number in range((last - first).days + 1):
        yield first + timedelta(days=number)
