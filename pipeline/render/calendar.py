"""What falls due at a site within 60 days, as a calendar that other programs subscribe to.

The only module that imports icalendar. RFC 5545: whole days without a time zone, one event for
each unit and test or task; a routine test is one event that comes again. An event keeps its UID
while its day moves, so that a calendar that is read again is brought up to date and holds nothing
twice; SEQUENCE grows with the as-of day.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from icalendar import Calendar, Event, vRecur

from pipeline.base.files import short_id
from pipeline.base.phrases import listed, phrase
from pipeline.render.parts.badges import URGENT
from pipeline.render.recurring import Recurrence, is_overdue, recurrence
from pipeline.render.scope import Scope
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.routine import RecurringRow
from pipeline.render.words import day, printable, worded

AHEAD = timedelta(days=60)
CERTIFICATES = ("calibration", "validation", "vessel_inspection")
_FIRST = date(2020, 1, 1)
_WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


@dataclass(frozen=True, slots=True)
class _Entry:
    """One test or task of one unit; `code` is what it is called in the tables."""

    unit: UnitRow
    code: str
    what: str
    due_on: date
    reason: str
    asks: str
    category: str
    is_overdue: bool


def site_calendar(scope: Scope) -> bytes:
    """The calendar of a site; the same tables and day give the same bytes.

    What is overdue stands on the day after the as-of day, because nobody looks at a past day. The
    last event says until when this is known: an empty calendar would read as "nothing due".
    """
    as_of = scope.tables.as_of
    entries = [*_tests(scope), *_tasks(scope)]
    entries.sort(key=lambda one: (one.due_on, one.unit.unit_serial, one.code))
    calendar = Calendar()
    calendar.add("prodid", "-//holdtime//holdtime//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", phrase("calendar.name", site=scope.name))
    calendar.add("x-wr-calname", phrase("calendar.name", site=scope.name))
    calendar.add("refresh-interval", timedelta(days=1), parameters={"value": "DURATION"})
    for one in entries:
        calendar.add_component(_event(scope, one))
    for unit in scope.in_service:
        for row in scope.tables.recurring.get(unit.unit_serial, []):
            for event in _routine(scope, unit, row):
                calendar.add_component(event)
    calendar.add_component(_end(scope, as_of))
    return calendar.to_ical()


def _tests(scope: Scope) -> list[_Entry]:
    entries = []
    for unit in scope.in_service:
        row = scope.tables.spore_due.get(unit.unit_serial)
        if row is None or row.due_on is None or row.reason == "not_in_use":
            continue
        if row.state in URGENT or row.due_on <= scope.tables.as_of + AHEAD:
            entries.append(
                _Entry(
                    unit,
                    "spore_test",
                    phrase("due.spore_test"),
                    row.due_on,
                    worded("reason.spore_due", row.reason),
                    phrase("calendar.asks", text=printable(row.asks)) if row.asks else "",
                    phrase("calendar.kind.test"),
                    row.state in URGENT,
                )
            )
    return entries


def _tasks(scope: Scope) -> list[_Entry]:
    entries = []
    for unit in scope.in_service:
        for row in scope.tables.tasks_due.get(unit.unit_serial, []):
            if row.due_on is None or row.state == "not_seen":
                continue
            if row.state in URGENT or row.due_on <= scope.tables.as_of + AHEAD:
                kind = "certificate" if row.task in CERTIFICATES else "task"
                entries.append(
                    _Entry(
                        unit,
                        row.task,
                        worded("task", row.task),
                        row.due_on,
                        worded("reason.task_due", row.reason),
                        phrase("calendar.source", text=printable(row.source).rstrip(".")),
                        phrase(f"calendar.kind.{kind}"),
                        row.state in URGENT,
                    )
                )
    return entries


def _event(scope: Scope, one: _Entry) -> Event:
    as_of = scope.tables.as_of
    late = one.is_overdue or one.due_on <= as_of
    label = printable(one.unit.label)
    event = _whole_day(
        scope,
        short_id("due", one.unit.unit_serial, one.code),
        max(one.due_on, as_of + timedelta(days=1)),
        phrase("calendar.overdue" if late else "calendar.due", what=one.what, unit=label),
    )
    told = phrase(
        "calendar.told",
        unit=label,
        serial=printable(one.unit.unit_serial),
        due=day(one.due_on),
        reason=one.reason,
        asks=one.asks,
    )
    event.add("description", f"{told}\n\n{phrase('calendar.caution', day=day(as_of))}")
    event.add("categories", [one.category])
    return event


def _routine(scope: Scope, unit: UnitRow, row: RecurringRow) -> Iterator[Event]:
    """The event that comes again for a routine test, and one for a test that is past due."""
    as_of = scope.tables.as_of
    until = as_of + AHEAD
    label, what = printable(unit.label), worded("rule.routine", row.test)
    if is_overdue(row, as_of):
        event = _whole_day(
            scope,
            short_id("routine overdue", row.unit_serial, row.test),
            as_of + timedelta(days=1),
            phrase("calendar.overdue", what=what, unit=label),
        )
        yield _told(event, scope, unit, row)
    if again := recurrence(row, as_of, until):
        event = _whole_day(
            scope,
            short_id("routine", row.unit_serial, row.test),
            again.first_on,
            phrase("calendar.due", what=what, unit=label),
        )
        event.add("rrule", _rule(again))
        if again.left_out:
            event.add("exdate", list(again.left_out))
        yield _told(event, scope, unit, row)


def _rule(again: Recurrence) -> vRecur:
    if again.weekdays:
        days = [_WEEKDAYS[one - 1] for one in again.weekdays]
        return vRecur(freq="WEEKLY", byday=days, until=again.until)
    return vRecur(freq="DAILY", interval=again.every_days, until=again.until)


def _told(event: Event, scope: Scope, unit: UnitRow, row: RecurringRow) -> Event:
    told = phrase(
        f"calendar.routine.{row.kind}",
        unit=printable(unit.label),
        serial=printable(row.unit_serial),
        asks=phrase("calendar.asks", text=printable(row.asks)) if row.asks else "",
    )
    caution = phrase("calendar.caution", day=day(scope.tables.as_of))
    event.add("description", f"{told}\n\n{caution}")
    event.add("categories", [phrase("calendar.kind.test")])
    return event


def _end(scope: Scope, as_of: date) -> Event:
    event = _whole_day(
        scope,
        short_id("known until", scope.subject_id),
        as_of + AHEAD,
        phrase("calendar.end", site=scope.name, day=day(as_of)),
    )
    event.add("description", f"{phrase('calendar.end_told')}\n\n{listed('cautions.short')[0]}")
    return event


def _whole_day(scope: Scope, uid: str, on: date, summary: str) -> Event:
    as_of = scope.tables.as_of
    event = Event()
    event.add("uid", f"{uid}@holdtime.invalid")
    event.add("dtstamp", datetime(as_of.year, as_of.month, as_of.day, tzinfo=UTC))
    event.add("sequence", max((as_of - _FIRST).days, 0))
    event.add("dtstart", on)
    event.add("dtend", on + timedelta(days=1))
    event.add("summary", summary)
    event.add("location", scope.name)
    # A reminder must not make anybody look busy.
    event.add("transp", "TRANSPARENT")
    return event
