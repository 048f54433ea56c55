"""What is overdue or falls due within some days, tests and tasks, as rows for a terminal."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.base.errors import ConfigurationError
from pipeline.base.phrases import phrase
from pipeline.config.faults import did_you_mean
from pipeline.render.parts.badges import URGENT
from pipeline.render.recurring import recurrence, was_due_on
from pipeline.render.tables.routine import RecurringRow
from pipeline.render.tables.tables import Tables
from pipeline.render.words import day, printable, worded


@dataclass(frozen=True, slots=True)
class Due:
    """One test or task of one unit; `days_overdue` is 0 while it is in time."""

    due_on: date
    site_id: str
    unit_serial: str
    label: str
    what: str
    state: str
    reason: str
    days_overdue: int
    is_forecast: bool


def due_list(tables: Tables, days: int, site_id: str | None = None) -> list[Due]:
    """Overdue first, then by the day on which it is due.

    Raises ConfigurationError when there is no such site.
    """
    if site_id is not None and site_id not in tables.sites:
        raise ConfigurationError(
            [f'There is no site "{site_id}". {did_you_mean(site_id, tables.sites)}']
        )
    last = tables.as_of + timedelta(days=days)
    found = [
        one
        for one in (*_tests(tables), *_routines(tables, last), *_tasks(tables))
        if (site_id is None or one.site_id == site_id)
        and (one.state in URGENT or one.due_on <= last)
    ]
    return sorted(
        found,
        key=lambda one: (
            one.state not in URGENT,
            one.due_on,
            one.site_id,
            one.unit_serial,
            one.what,
        ),
    )


def due_text(rows: list[Due], tables: Tables, days: int) -> str:
    """The rows as a table, with columns as wide as what stands in them."""
    last = day(tables.as_of + timedelta(days=days))
    overdue = sum(one.state in URGENT for one in rows)
    head = [phrase("due_list.lead", len(rows) - overdue, day=last)]
    if overdue:
        head.insert(0, phrase("due_list.overdue", overdue))
    if not rows:
        return "\n".join(head)
    cells = [_cells(one) for one in rows]
    widths = [max(len(line[n]) for line in cells) for n in range(len(cells[0]))]
    lines = [
        "  ".join(text.ljust(width) for text, width in zip(line, widths, strict=True)).rstrip()
        for line in cells
    ]
    return "\n".join([*head, "", *lines])


def _cells(one: Due) -> tuple[str, ...]:
    return (
        day(one.due_on),
        one.site_id,
        printable(one.unit_serial),
        printable(one.label),
        one.what,
        worded("state_word", one.state),
        one.reason,
    )


def _tests(tables: Tables) -> list[Due]:
    return [
        Due(
            row.due_on,
            row.site_id,
            row.unit_serial,
            tables.units[row.unit_serial].label,
            phrase("due.spore_test"),
            row.state,
            worded("reason.spore_due", row.reason),
            row.days_overdue or 0,
            row.is_forecast,
        )
        for row in tables.spore_due.values()
        if row.due_on is not None and row.reason != "not_in_use"
    ]


def _routines(tables: Tables, last: date) -> Iterator[Due]:
    """Of each routine test one that is past due, and the next one; as in the calendar."""
    for rows in tables.recurring.values():
        for row in rows:
            if due_on := was_due_on(row, tables.as_of):
                yield _routine(tables, row, due_on, "look_into")
            if again := recurrence(row, tables.as_of, last):
                yield _routine(tables, row, again.first_on, "usual")


def _routine(tables: Tables, row: RecurringRow, due_on: date, state: str) -> Due:
    unit = tables.units[row.unit_serial]
    return Due(
        due_on,
        unit.site_id,
        row.unit_serial,
        unit.label,
        worded("rule.routine", row.test),
        state,
        worded("reason.task_due", "overdue") if state in URGENT else printable(row.asks or ""),
        max((tables.as_of - due_on).days, 0),
        False,
    )


def _tasks(tables: Tables) -> list[Due]:
    return [
        Due(
            row.due_on,
            row.site_id,
            row.unit_serial,
            tables.units[row.unit_serial].label,
            worded("task", row.task),
            row.state,
            worded("reason.task_due", row.reason),
            row.days_overdue or 0,
            False,
        )
        for rows in tables.tasks_due.values()
        for row in rows
        if row.due_on is not None and row.state != "not_seen"
    ]
