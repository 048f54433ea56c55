"""Whether a site's tasks and spore tests come later and later, by the role of who does them."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import URGENT, badge, urgency
from pipeline.render.parts.cells import number_key
from pipeline.render.parts.explained import explained
from pipeline.render.parts.news import TASK_LATE
from pipeline.render.scope import Scope
from pipeline.render.tables.upkeep import SiteHabitRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import out_of, percent, share_change, worded


def site_habit_section(scope: Scope) -> Section:
    """One line a role and one for spore tests; the state is told by word, shape and colour."""
    rows = scope.tables.site_habits.get(scope.subject_id, [])
    later = [_name(row) for row in rows if row.state in URGENT]
    columns = (
        Column(phrase("column.habit_of")),
        Column(phrase("column.state")),
        Column(phrase("column.tasks_late"), phrase("column.tasks_late_below"), is_number=True),
        Column(phrase("column.habit"), phrase("column.habit_below"), is_number=True),
        Column(phrase("column.habit_lately"), phrase("column.habit_share"), is_number=True),
        Column(phrase("column.habit_before"), phrase("column.habit_share"), is_number=True),
    )
    lines = tuple(_line(row) for row in rows)
    section = Section(
        "habit",
        phrase("site_habit.title"),
        phrase("site_habit.lead", len(later)),
        notes=(phrase("site_habit.note"),),
        tables=(
            Table("site-habit", phrase("site_habit.table"), columns, lines,
                  phrase("site_habit.none")),
        ),
    )  # fmt: skip
    return explained(scope.tables, section, "site", scope.subject_id, TASK_LATE)


def _line(row: SiteHabitRow) -> Line:
    mark = badge(row.state)
    slope, spread = share_change(row.lateness_slope, row.lateness_low, row.lateness_high)
    cells = (
        Cell(_name(row)),
        Cell(mark.word, "", urgency(row.state), chart=mark.icon, state=row.state),
        Cell(out_of(row.late_count, row.interval_count), key=number_key(row.late_count)),
        Cell(slope, spread, number_key(row.lateness_slope)),
        Cell(percent(row.lately_share), key=number_key(row.lately_share)),
        Cell(percent(row.before_share), key=number_key(row.before_share)),
    )
    return Line(cells, row.state)


def _name(row: SiteHabitRow) -> str:
    if row.act == "test":
        return phrase("site_habit.tests")
    if row.role == "not_noted":
        return phrase("site_habit.not_noted")
    return phrase("site_habit.tasks", role=worded("role", row.role))
