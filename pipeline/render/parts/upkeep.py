"""The third ranking: maintenance drift. Wear that the logs show, and tasks that come late."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import URGENT
from pipeline.render.parts.cells import count_cell, number_key, share_cell, site_cell
from pipeline.render.parts.news import TASK_LATE, drifting
from pipeline.render.parts.stopped import MOST_LINES, first_of
from pipeline.render.parts.task import habit_table, task_table, tasks
from pipeline.render.parts.wear import drift_table
from pipeline.render.scope import Scope
from pipeline.render.tables.register import SiteRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import out_of


def upkeep(scope: Scope) -> Section:
    """Which units leave their own range, and which tasks are overdue."""
    late = sum(row.state in URGENT for _, row in tasks(scope))
    return Section(
        "upkeep",
        phrase("upkeep.title"),
        f"{phrase('upkeep.wear', drifting(scope))} {phrase('upkeep.tasks', late)}",
        notes=(phrase("upkeep.note"),),
        tables=(
            site_table(scope),
            drift_table(scope),
            task_table(scope),
            habit_table(scope),
        ),
    )


def site_table(scope: Scope) -> Table:
    """The sites of a scope: units out of their range, tasks overdue, intervals late."""
    counts = {site.site_id: _site_counts(scope, site) for site in scope.sites}
    ordered = sorted(scope.sites, key=lambda site: tuple(-n for n in counts[site.site_id]))
    shown = tuple(_site_line(scope, site, counts[site.site_id]) for site in ordered[:MOST_LINES])
    columns = (
        Column(phrase("column.site")),
        Column(phrase("column.drifting"), is_number=True),
        Column(phrase("column.tasks_overdue"), is_number=True),
        Column(phrase("column.tasks_late"), phrase("column.tasks_late_below"), is_number=True),
        Column(phrase("column.getting_later"), is_number=True, is_wide_only=True),
    )
    caption = first_of(phrase("upkeep.by_site"), len(shown), len(ordered))
    return Table("upkeep-sites", caption, columns, shown, phrase("table.none"))


def _site_counts(scope: Scope, site: SiteRow) -> tuple[int, int, int]:
    """Units out of range, tasks overdue, units getting later."""
    tables, units = scope.tables, scope.units_at(site.site_id)
    wear = sum(unit.unit_serial in tables.urgent_drifts for unit in units)
    tasks = sum(
        row.state in URGENT for unit in units for row in tables.tasks_due.get(unit.unit_serial, [])
    )
    later = sum(
        bool((row := tables.habits.get(unit.unit_serial)) and row.state in URGENT) for unit in units
    )
    return wear, tasks, later


def _site_line(scope: Scope, site: SiteRow, counts: tuple[int, int, int]) -> Line:
    wear, tasks, later = counts
    units = len(scope.units_at(site.site_id))
    late = scope.tables.rankings.get((TASK_LATE, "site", site.site_id))
    return Line(
        (
            site_cell(scope.tables, site),
            Cell(out_of(wear, units), key=number_key(wear)),
            count_cell(tasks),
            share_cell(late, "number.none_ended"),
            count_cell(later),
        )
    )
