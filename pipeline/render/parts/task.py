"""Tables of maintenance tasks: what is due, what is late, and whether it is getting later."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import URGENT, badge, urgency
from pipeline.render.parts.cells import number_key, unit_cell
from pipeline.render.parts.stopped import MOST_LINES, first_of
from pipeline.render.scope import STATES, Scope
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.tables.upkeep import HabitRow, TaskDueRow
from pipeline.render.views import Cell, Column, Line, Table
from pipeline.render.words import count, day, days, decimal, out_of, share_change, unknown, worded


def task_table(scope: Scope) -> Table:
    """Tasks overdue, worst first."""
    rows = [(unit, row) for unit, row in tasks(scope) if row.state in URGENT]
    rows.sort(key=lambda pair: (STATES.index(pair[1].state), -(pair[1].used_share or 0.0)))
    lines = tuple(
        Line((unit_cell(scope.tables, unit, with_site=True), *task_cells(row)), row.state)
        for unit, row in rows[:MOST_LINES]
    )
    caption = first_of(phrase("upkeep.by_task"), len(lines), len(rows))
    columns = (Column(phrase("column.unit")), *task_columns())
    return Table("upkeep-tasks", caption, columns, lines, phrase("upkeep.no_task"))


def habit_table(scope: Scope) -> Table:
    """Units whose maintenance comes later and later, folded away."""
    rows = [
        (unit, row)
        for unit in scope.in_service
        if (row := scope.tables.habits.get(unit.unit_serial)) and row.state in URGENT
    ]
    rows.sort(key=lambda pair: (STATES.index(pair[1].state), -(pair[1].lateness_slope or 0.0)))
    lines = tuple(_habit_line(scope.tables, unit, row) for unit, row in rows)
    columns = (
        Column(phrase("column.unit")),
        Column(phrase("column.state")),
        Column(
            phrase("column.tasks_late"), phrase("column.tasks_late_ended_below"), is_number=True
        ),
        Column(phrase("column.habit"), phrase("column.habit_below"), is_number=True),
    )
    caption = phrase("upkeep.by_habit")
    return Table("upkeep-habit", caption, columns, lines, phrase("upkeep.no_habit"))


def task_columns() -> tuple[Column, ...]:
    """The columns of a task table, after the unit."""
    return (
        Column(phrase("column.task")),
        Column(phrase("column.state")),
        Column(phrase("column.last_done"), is_wide_only=True),
        Column(phrase("column.due")),
        Column(phrase("column.used"), is_number=True),
        Column(phrase("column.allowed"), is_wide_only=True),
    )


def task_cells(row: TaskDueRow) -> tuple[Cell, ...]:
    """One task: state, when last, when due, how much of what is allowed has been used."""
    mark = badge(row.state)
    seen = row.state != "not_seen"
    due = Cell(day(row.due_on), key=row.due_on.isoformat()) if row.due_on else Cell(unknown())
    last = (
        Cell(day(row.last_done_on), key=row.last_done_on.isoformat())
        if row.last_done_on
        else Cell(phrase("upkeep.never_done"))
    )
    return (
        Cell(worded("task", row.task), key=row.task),
        Cell(mark.word, worded("reason.task_due", row.reason), urgency(row.state),
             chart=mark.icon, state=row.state),
        last,
        due if seen else Cell(unknown()),
        _used(row) if seen else Cell(unknown()),
        Cell(_allowed(row)),
    )  # fmt: skip


def _used(row: TaskDueRow) -> Cell:
    if row.used_share is None:
        return Cell(unknown())
    parts = []
    if row.allowed_days is not None and row.days_since is not None:
        parts.append(phrase("upkeep.days_since", row.days_since))
    if row.allowed_cycles is not None and row.cycles_since is not None:
        parts.append(phrase("upkeep.cycles_since", row.cycles_since))
    used = phrase("upkeep.used", percent=decimal(row.used_share * 100, 0))
    return Cell(used, ", ".join(parts), number_key(row.used_share))


def _allowed(row: TaskDueRow) -> str:
    if row.allowed_days is not None and row.allowed_cycles is not None:
        return phrase("upkeep.allowed_either", days=days(row.allowed_days),
                      cycles=count(row.allowed_cycles))  # fmt: skip
    if row.allowed_days is not None:
        return phrase("upkeep.allowed_days", days=days(row.allowed_days))
    if row.allowed_cycles is not None:
        return phrase("upkeep.allowed_cycles", cycles=count(row.allowed_cycles))
    return unknown()


def _habit_line(tables: Tables, unit: UnitRow, row: HabitRow) -> Line:
    mark = badge(row.state)
    slope, spread = share_change(row.lateness_slope, row.lateness_low, row.lateness_high)
    cells = (
        unit_cell(tables, unit, with_site=True),
        Cell(mark.word, "", urgency(row.state), chart=mark.icon, state=row.state),
        Cell(out_of(row.late_count, row.interval_count), key=number_key(row.late_count)),
        Cell(slope, spread, number_key(row.lateness_slope)),
    )
    return Line(cells, row.state)


def tasks(scope: Scope) -> list[tuple[UnitRow, TaskDueRow]]:
    """Every task of every unit in service."""
    return [
        (unit, row)
        for unit in scope.in_service
        for row in scope.tables.tasks_due.get(unit.unit_serial, [])
    ]
