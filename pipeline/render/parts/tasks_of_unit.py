"""Maintenance of one unit: what is due, whether it comes later and later, and the latest acts."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import URGENT
from pipeline.render.parts.periods import source_cell
from pipeline.render.parts.repairs import repair_tables
from pipeline.render.parts.task import task_cells, task_columns
from pipeline.render.parts.task_book import book_notes
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.tables.upkeep import TaskDoneRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import (
    count,
    day,
    out_of,
    printable,
    share_change,
    unknown,
    worded,
)


def tasks_section(tables: Tables, unit: UnitRow, number: int) -> Section:
    """The third numbered section of a unit's page."""
    rows = tables.tasks_due.get(unit.unit_serial, [])
    overdue = sum(row.state in URGENT for row in rows)
    lead = phrase("tasks.lead", overdue, total=count(len(rows))) if rows else phrase("tasks.none")
    lines = tuple(Line(task_cells(row), row.state) for row in rows)
    table = Table("tasks", phrase("tasks.table"), task_columns(), lines, phrase("tasks.none"))
    return Section(
        "upkeep",
        phrase("tasks.title", number=str(number)),
        lead,
        notes=(*_habit(tables, unit), *book_notes(tables, unit), *_sources(tables, unit)),
        tables=(
            table,
            *repair_tables(tables, unit),
            _done_table(tables.tasks_done.get(unit.unit_serial, [])),
        ),
    )


def _habit(tables: Tables, unit: UnitRow) -> tuple[str, ...]:
    row = tables.habits.get(unit.unit_serial)
    if row is None or row.interval_count == 0:
        return (phrase("tasks.no_habit"),)
    words = phrase("tasks.habit", x_of_n=out_of(row.late_count, row.interval_count))
    if row.lateness_slope is None:
        return (words,)
    slope, spread = share_change(row.lateness_slope, row.lateness_low, row.lateness_high)
    if not spread:
        return (words, phrase("tasks.no_trend"))
    return (words, phrase("tasks.trend", slope=slope, range=spread))


def _sources(tables: Tables, unit: UnitRow) -> tuple[str, ...]:
    sources = sorted({row.source for row in tables.tasks_due.get(unit.unit_serial, [])})
    joined = "; ".join(printable(source).rstrip(".") for source in sources)
    return (phrase("tasks.source", sources=joined),) if sources else ()


def _done_table(rows: list[TaskDoneRow]) -> Table:
    columns = (
        Column(phrase("column.done_on")),
        Column(phrase("column.task")),
        Column(phrase("column.counter"), is_number=True, is_wide_only=True),
        Column(phrase("column.by"), is_wide_only=True),
        Column(phrase("column.log_line")),
    )
    lines = tuple(
        Line(
            (
                Cell(day(row.done_on), key=row.done_on.isoformat()),
                Cell(worded("task", row.task), _kind(row)),
                Cell(unknown() if row.counter is None else count(row.counter)),
                Cell(worded("role", row.by_role) if row.by_role else unknown()),
                source_cell(row.path, row.content_sha, row.line),
            )
        )
        for row in rows
    )
    summary = phrase("tasks.done_summary", len(rows)) if rows else ""
    return Table("acts", phrase("tasks.done_table"), columns, lines, phrase("tasks.never"), summary)


def _kind(row: TaskDoneRow) -> str:
    """What was done, where it was more than the task that is due."""
    return worded("task_kind", row.kind) if row.kind not in (None, "routine") else ""
