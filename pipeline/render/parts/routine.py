"""Steam penetration, leak and control tests and chemical indicators: done, missed, not seen."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import URGENT, badge, urgency
from pipeline.render.parts.cells import count_cell, number_key, unit_cell
from pipeline.render.parts.stopped import MOST_LINES, first_of
from pipeline.render.scope import STATES, Scope
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.routine import RoutineRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import day, out_of, printable, unknown, with_share, worded


def routine_section(scope: Scope) -> Section:
    """The units of a scope, those with a habit of missing first."""
    rows = [
        (unit, row)
        for unit in scope.in_service
        for row in scope.tables.routines.get(unit.unit_serial, [])
    ]
    rows.sort(key=lambda pair: _order(pair[1]))
    lines = tuple(
        Line((unit_cell(scope.tables, unit, with_site=scope.level != "site"), *_cells(row)),
             row.state)
        for unit, row in rows[: None if scope.level == "site" else MOST_LINES]
    )  # fmt: skip
    caption = first_of(phrase("routine.table"), len(lines), len(rows))
    columns = (Column(phrase("column.unit")), *_columns())
    table = Table("routine", caption, columns, lines, phrase("routine.none"))
    lead = phrase("routine.lead", sum(row.state in URGENT for _, row in rows))
    return Section(
        "routine",
        phrase("routine.title"),
        lead if rows else phrase("routine.none"),
        notes=(phrase("routine.note"),) if rows else (),
        tables=(table,) if rows else (),
    )


def routine_table(tables: Tables, unit: UnitRow) -> Table:
    """The tests of one unit, with what the practice asks."""
    rows = tables.routines.get(unit.unit_serial, [])
    lines = tuple(Line(_cells(row), row.state) for row in rows)
    return Table("routine", phrase("routine.unit_table"), _columns(), lines, phrase("routine.none"))


def routine_notes(tables: Tables, unit: UnitRow) -> tuple[str, ...]:
    """What is counted, and what the practice asks for with its source; nothing without a rule."""
    rows = tables.routines.get(unit.unit_serial, [])
    asked = tuple(
        phrase(
            "routine.asks",
            test=worded("rule.routine", row.test),
            asks=printable(row.asks) if row.asks else unknown(),
            source=printable(row.source).rstrip("."),
            confidence=worded("confidence", row.confidence),
        )
        for row in rows
    )
    return (phrase("routine.note"), *asked) if rows else ()


def _order(row: RoutineRow) -> tuple[int, float, str, str]:
    missed = row.missed_count / row.asked_count if row.asked_count else 0.0
    return (STATES.index(row.state), -missed, row.unit_serial, row.test)


def _columns() -> tuple[Column, ...]:
    return (
        Column(phrase("column.test")),
        Column(phrase("column.state")),
        Column(phrase("column.test_done"), phrase("column.of_asked"), is_number=True),
        Column(phrase("column.test_missing"), phrase("column.of_asked"), is_number=True),
        Column(phrase("column.untold"), is_number=True, is_wide_only=True),
        Column(phrase("column.test_failed"), is_number=True, is_wide_only=True),
        Column(phrase("column.last_done"), is_wide_only=True),
    )


def _cells(row: RoutineRow) -> tuple[Cell, ...]:
    mark = badge(row.state)
    late = phrase("routine.late", row.late_count) if row.late_count else ""
    lately = phrase(
        "routine.lately",
        x_of_n=out_of(row.lately_missed_count, row.lately_asked_count),
    )
    last = (
        Cell(day(row.last_on), key=row.last_on.isoformat())
        if row.last_on
        else Cell(phrase("upkeep.never_done"))
    )
    return (
        Cell(worded("rule.routine", row.test), worded("routine.kind", row.kind), row.test),
        Cell(mark.word, worded("routine.reason", row.reason), urgency(row.state),
             chart=mark.icon, state=row.state),
        Cell(with_share(row.done_count, row.asked_count) if row.asked_count else unknown(), late,
             number_key(row.done_count / row.asked_count if row.asked_count else None)),
        Cell(out_of(row.missed_count, row.asked_count) if row.asked_count else unknown(), lately,
             number_key(row.missed_count)),
        count_cell(row.unseen_count),
        count_cell(row.failed_count),
        last,
    )  # fmt: skip
