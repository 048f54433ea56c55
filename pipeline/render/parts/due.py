"""What is overdue or falls due at a site within a fortnight: spore tests and tasks, by day."""

from datetime import date, timedelta

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import URGENT, badge, urgency
from pipeline.render.parts.cells import unit_cell
from pipeline.render.scope import Scope
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import day, worded

FORTNIGHT = timedelta(days=14)


def due_section(scope: Scope) -> Section:
    """Overdue first, then by the day on which it is due."""
    entries = sorted([*_tests(scope), *_tasks(scope)], key=lambda entry: entry[0])
    overdue = sum(entry[1].state in URGENT for entry in entries)
    lead = phrase("due.lead", len(entries) - overdue, day=day(scope.tables.as_of + FORTNIGHT))
    if overdue:
        lead = f"{phrase('due.overdue', overdue)} {lead}"
    table = Table(
        "due",
        phrase("due.table"),
        (
            Column(phrase("column.due")),
            Column(phrase("column.unit")),
            Column(phrase("column.what")),
            Column(phrase("column.state")),
        ),
        tuple(line for _, line in entries),
        phrase("due.none"),
    )
    return Section("due", phrase("due.title"), lead, notes=(phrase("due.note"),), tables=(table,))


Entry = tuple[tuple[bool, date, str, str], Line]


def _tests(scope: Scope) -> list[Entry]:
    entries = []
    for unit in scope.in_service:
        row = scope.tables.spore_due.get(unit.unit_serial)
        if row is None or row.due_on is None or row.reason == "not_in_use":
            continue
        if row.state in URGENT or row.due_on <= scope.tables.as_of + FORTNIGHT:
            reason = worded("reason.spore_due", row.reason)
            what = Cell(phrase("due.spore_test"), reason)
            entries.append(_entry(scope, unit.unit_serial, row.due_on, what, row.state))
    return entries


def _tasks(scope: Scope) -> list[Entry]:
    entries = []
    for unit in scope.in_service:
        for row in scope.tables.tasks_due.get(unit.unit_serial, []):
            if row.due_on is None or row.state == "not_seen":
                continue
            if row.state in URGENT or row.due_on <= scope.tables.as_of + FORTNIGHT:
                what = Cell(worded("task", row.task), worded("reason.task_due", row.reason))
                entries.append(_entry(scope, unit.unit_serial, row.due_on, what, row.state))
    return entries


def _entry(scope: Scope, serial: str, due_on: date, what: Cell, state: str) -> Entry:
    unit, mark = scope.tables.units[serial], badge(state)
    cells = (
        Cell(day(due_on), key=due_on.isoformat()),
        unit_cell(scope.tables, unit, with_site=False),
        what,
        Cell(mark.word, key=urgency(state), chart=mark.icon, state=state),
    )
    return (state not in URGENT, due_on, unit.label, what.text), Line(cells, state)
