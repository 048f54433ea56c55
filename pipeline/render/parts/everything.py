"""Every site and every unit in one table each, to be sorted and searched.

The units of the whole network have a page of their own: there may be thousands of them.
"""

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import URGENT, urgency
from pipeline.render.parts.cells import (
    count_cell,
    likely_cell,
    number_key,
    position_cell,
    position_column,
    recent_cell,
    region_cell,
    share_cell,
    site_cell,
    state_cell,
    unit_cell,
    weeks_cell,
)
from pipeline.render.parts.news import STOPPED
from pipeline.render.parts.spore import due_cell
from pipeline.render.parts.spore import weeks_cell as on_time_cell
from pipeline.render.parts.stopped import scale_top, ticks
from pipeline.render.paths import UNITS
from pipeline.render.scope import Scope, state_of
from pipeline.render.tables.register import SiteRow, UnitRow
from pipeline.render.tables.spore import SporeDueRow
from pipeline.render.views import Cell, Column, Fact, Line, Section, Table
from pipeline.render.words import count, days, percent

MOST_DRAWN = 100
"""Rows of a table with a small chart each. Who looks for one of more reads, sorts and searches."""


def everything(scope: Scope) -> Section:
    """All sites, and under a line all units, with the chief figures of the three rankings."""
    marks = ticks(scope.tables, scope.subject_id if scope.level == "region" else "")
    is_network = scope.level == "network"
    number = len(scope.in_service)
    units = Fact(count(number), phrase("all.units"), href=UNITS)
    lead = phrase(
        "all.lead",
        sites=phrase("name.sites", len(scope.sites)),
        units=phrase("all.unit_count", number),
    )
    return Section(
        "all",
        phrase("all.title"),
        lead,
        notes=(phrase("all.note", network=percent(marks[0] if marks else None)),),
        facts=(units,) if is_network else (),
        tables=(site_table(scope, marks), *(() if is_network else (unit_table(scope, marks),))),
    )


def site_table(scope: Scope, marks: tuple[float, ...]) -> Table:
    """Every site, most urgent first."""
    rows = [scope.tables.rankings.get((STOPPED, "site", site.site_id)) for site in scope.sites]
    top = scale_top(rows, marks)
    ordered = sorted(scope.sites, key=lambda site: _site_urgency(scope, site))
    is_drawn = len(ordered) <= MOST_DRAWN
    weeks = (Column(phrase("column.weeks"), is_wide_only=True),) if is_drawn else ()
    return Table(
        "all-sites",
        phrase("all.sites"),
        (
            Column(phrase("column.site")),
            Column(phrase("column.state")),
            Column(phrase("column.stopped_equipment"), is_number=True),
            Column(phrase("column.likely")),
            position_column(),
            Column(phrase("column.recent"), is_number=True, is_wide_only=True),
            *weeks,
            Column(phrase("column.weeks_on_time"), is_number=True),
            Column(phrase("column.overdue_now"), is_number=True),
            Column(phrase("column.maintenance"), is_number=True, is_wide_only=True),
        ),
        tuple(_site_line(scope, site, marks, top, is_drawn=is_drawn) for site in ordered),
        phrase("table.none"),
        is_sortable=True,
        finds=phrase("all.find_site"),
    )


def unit_table(scope: Scope, marks: tuple[float, ...]) -> Table:
    """Every unit in service, most urgent first; folded away but on the units' own page."""
    units = scope.in_service
    rows = [scope.tables.rankings.get((STOPPED, "unit", unit.unit_serial)) for unit in units]
    top = scale_top(rows, marks)
    ordered = sorted(
        units, key=lambda u: urgency(state_of(scope.tables, "unit", u.unit_serial)) or "9"
    )
    is_drawn = len(ordered) <= MOST_DRAWN
    return Table(
        "all-units",
        phrase("all.units"),
        (
            Column(phrase("column.unit")),
            Column(phrase("column.state")),
            Column(phrase("column.stopped_equipment"), is_number=True),
            Column(phrase("column.likely"), is_wide_only=True),
            position_column(),
            Column(phrase("column.recent"), is_number=True),
            Column(phrase("column.next_test")),
            Column(phrase("column.weeks_on_time"), is_number=True, is_wide_only=True),
            Column(phrase("column.maintenance"), is_number=True, is_wide_only=True),
        ),
        tuple(_unit_line(scope, unit, marks, top, is_drawn=is_drawn) for unit in ordered),
        phrase("table.none"),
        summary="" if scope.level == "network" else phrase("all.units_summary", len(units)),
        is_sortable=True,
        finds=phrase("all.find_unit"),
    )


def region_table(scope: Scope, regions: list[Scope]) -> Table:
    """Every region beside the others."""
    marks = ticks(scope.tables)
    rows = [scope.tables.rankings.get((STOPPED, "region", one.subject_id)) for one in regions]
    top = scale_top(rows, marks)
    return Table(
        "regions",
        phrase("all.regions"),
        (
            Column(phrase("column.region")),
            Column(phrase("column.state")),
            Column(phrase("column.units_urgent"), is_number=True),
            Column(phrase("column.stopped_equipment"), is_number=True),
            Column(phrase("column.likely")),
            Column(phrase("column.recent"), is_number=True, is_wide_only=True),
            Column(phrase("column.weeks_on_time"), is_number=True, is_wide_only=True),
            Column(phrase("column.overdue_now"), is_number=True),
        ),
        tuple(_region_line(one, marks, top) for one in regions),
        phrase("table.none"),
        is_sortable=True,
    )


def _site_urgency(scope: Scope, site: SiteRow) -> tuple[str, float]:
    row = scope.tables.rankings.get((STOPPED, "site", site.site_id))
    state = state_of(scope.tables, "site", site.site_id)
    return (urgency(state) or "9", -(row.likely or 0.0) if row else 0.0)


def _due(scope: Scope, units: tuple[UnitRow, ...]) -> list[SporeDueRow]:
    due = scope.tables.spore_due
    return [due[unit.unit_serial] for unit in units if unit.unit_serial in due]


def _overdue_cell(rows: list[SporeDueRow]) -> Cell:
    late = [row.days_overdue for row in rows if row.days_overdue]
    return count_cell(len(late), days(max(late)) if late else "")


def _maintenance(scope: Scope, units: tuple[UnitRow, ...]) -> Cell:
    """Units that drift, and tasks overdue."""
    tables = scope.tables
    drifting = sum(unit.unit_serial in tables.urgent_drifts for unit in units)
    tasks = sum(
        row.state in URGENT for unit in units for row in tables.tasks_due.get(unit.unit_serial, [])
    )
    key = number_key(drifting + tasks / 1000)
    return Cell(phrase("all.drifting", drifting), phrase("all.tasks", tasks), key)


def _site_line(
    scope: Scope, site: SiteRow, marks: tuple[float, ...], top: float, *, is_drawn: bool
) -> Line:
    tables, units = scope.tables, scope.units_at(site.site_id)
    row = tables.rankings.get((STOPPED, "site", site.site_id))
    state = state_of(tables, "site", site.site_id)
    due = _due(scope, units)
    return Line(
        (
            site_cell(tables, site),
            state_cell(tables, "site", site.site_id),
            share_cell(row),
            likely_cell(row, marks, top, is_drawn=is_drawn),
            position_cell(row),
            recent_cell(tables, units),
            *((weeks_cell(tables, "site", site.site_id),) if is_drawn else ()),
            on_time_cell(due),
            _overdue_cell(due),
            _maintenance(scope, units),
        ),
        state,
    )


def _unit_line(
    scope: Scope, unit: UnitRow, marks: tuple[float, ...], top: float, *, is_drawn: bool
) -> Line:
    tables, serial = scope.tables, unit.unit_serial
    row, state = tables.rankings.get((STOPPED, "unit", serial)), state_of(tables, "unit", serial)
    due = _due(scope, (unit,))
    return Line(
        (
            unit_cell(tables, unit, with_site=True),
            state_cell(tables, "unit", serial),
            share_cell(row),
            likely_cell(row, marks, top, is_drawn=is_drawn),
            position_cell(row),
            recent_cell(tables, (unit,)),
            due_cell(due[0] if due else None),
            on_time_cell(due),
            _maintenance(scope, (unit,)),
        ),
        state,
    )


def _region_line(scope: Scope, marks: tuple[float, ...], top: float) -> Line:
    tables = scope.tables
    row = tables.rankings.get((STOPPED, "region", scope.subject_id))
    state = state_of(tables, "region", scope.subject_id)
    counts = scope.state_counts()
    below = phrase("all.look_into", counts["look_into"]) if counts["look_into"] else ""
    due = _due(scope, scope.in_service)
    return Line(
        (
            region_cell(scope.name, scope.subject_id, len(scope.sites)),
            state_cell(tables, "region", scope.subject_id),
            Cell(count(counts["act_now"]), below, number_key(counts["act_now"])),
            share_cell(row),
            likely_cell(row, marks, top),
            recent_cell(tables, scope.in_service),
            on_time_cell(due),
            _overdue_cell(due),
        ),
        state,
    )
