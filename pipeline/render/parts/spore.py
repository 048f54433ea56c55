"""The second ranking: overdue spore tests, by site and by unit. Facts, so nothing is smoothed."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import badge, urgency
from pipeline.render.parts.cells import count_cell, number_key, site_cell, unit_cell
from pipeline.render.parts.stopped import MOST_LINES, first_of
from pipeline.render.scope import STATES, Scope
from pipeline.render.tables.register import SiteRow, UnitRow
from pipeline.render.tables.spore import SporeDueRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import count, day, days, out_of, share_of, unknown, worded


def overdue(scope: Scope) -> Section:
    """Which units run although their test is overdue, longest first."""
    rows = [row for unit in scope.in_service if (row := _due(scope.tables, unit))]
    late = [row for row in rows if row.days_overdue]
    growth = sum(row.growth_on is not None for row in rows)
    lead = phrase("spore.lead", len(late), total=count(len(scope.in_service)))
    if growth:
        lead += " " + phrase("spore.growth_open", growth)
    return Section(
        "spore",
        phrase("spore.title"),
        lead,
        notes=(phrase("spore.note"),),
        tables=(site_table(scope), unit_table(scope)),
    )


def site_table(scope: Scope) -> Table:
    """The sites of a scope, the longest overdue first."""
    ordered = sorted(scope.sites, key=lambda site: _site_order(scope, site))
    lines = tuple(_site_line(scope, site) for site in ordered[:MOST_LINES])
    caption = first_of(phrase("spore.by_site"), len(lines), len(ordered))
    columns = (
        Column(phrase("column.site")),
        Column(phrase("column.overdue_now"), is_number=True),
        Column(phrase("column.cycles_while_overdue"), is_number=True),
        Column(phrase("column.weeks_on_time"), is_number=True),
        Column(phrase("column.growth_open"), is_number=True, is_wide_only=True),
        Column(phrase("column.awaited"), is_number=True, is_wide_only=True),
    )
    return Table("spore-sites", caption, columns, lines, phrase("table.none"))


def unit_table(scope: Scope) -> Table:
    """The units of a scope, the longest overdue first."""
    ordered = sorted(scope.in_service, key=lambda unit: _order(_due(scope.tables, unit)))
    lines = tuple(
        _unit_line(scope.tables, unit, _due(scope.tables, unit)) for unit in ordered[:MOST_LINES]
    )
    caption = first_of(phrase("spore.by_unit"), len(lines), len(ordered))
    columns = (
        Column(phrase("column.unit")),
        Column(phrase("column.state")),
        Column(phrase("column.overdue_by"), is_number=True),
        Column(phrase("column.last_valid"), is_wide_only=True),
        Column(phrase("column.due")),
        Column(phrase("column.weeks_on_time"), is_number=True),
        Column(phrase("column.longest_gap"), is_number=True, is_wide_only=True),
        Column(phrase("column.waiting_since"), is_wide_only=True),
    )
    return Table("spore-units", caption, columns, lines, phrase("table.none"))


def due_cell(row: SporeDueRow | None) -> Cell:
    """The day by which the next test must be exposed."""
    if row is None or row.due_on is None:
        return Cell(phrase("spore.no_due"))
    return Cell(day(row.due_on), key=row.due_on.isoformat())


def overdue_cell(row: SporeDueRow | None) -> Cell:
    """Days overdue, and the cycles run all the same."""
    if row is None or row.state == "not_seen":
        return Cell(unknown())
    if not row.days_overdue:
        return Cell(phrase("spore.not_overdue"), key="0")
    cycles = phrase("spore.cycles_since", row.cycles_while_overdue or 0)
    return Cell(days(row.days_overdue), cycles, number_key(row.days_overdue))


def weeks_cell(rows: list[SporeDueRow]) -> Cell:
    """Weeks tested on time, of the weeks in use."""
    on_time, in_use = sum(r.weeks_on_time for r in rows), sum(r.weeks_in_use for r in rows)
    if in_use == 0:
        return Cell(phrase("spore.no_weeks"))
    share, x_of_n = share_of(on_time, in_use), out_of(on_time, in_use)
    key = number_key(on_time / in_use)
    return Cell(share, x_of_n, key) if share else Cell(x_of_n, key=key)


def _due(tables: Tables, unit: UnitRow) -> SporeDueRow | None:
    return tables.spore_due.get(unit.unit_serial)


def _order(row: SporeDueRow | None) -> tuple[int, int, float]:
    if row is None:
        return (len(STATES), 0, 0.0)
    missed = 1 - row.weeks_on_time / row.weeks_in_use if row.weeks_in_use else 0.0
    place = STATES.index(row.state) if row.state in STATES else len(STATES)
    return (place, -(row.days_overdue or 0), -missed)


def _site_rows(scope: Scope, site: SiteRow) -> list[SporeDueRow]:
    return [
        row
        for unit in scope.units_at(site.site_id)
        if (row := _due(scope.tables, unit)) is not None
    ]


def _site_order(scope: Scope, site: SiteRow) -> tuple[int, int, float]:
    rows = _site_rows(scope, site)
    in_use = sum(row.weeks_in_use for row in rows)
    missed = 1 - sum(row.weeks_on_time for row in rows) / in_use if in_use else 0.0
    longest = max((row.days_overdue or 0 for row in rows), default=0)
    return (-longest, -sum(bool(row.days_overdue) for row in rows), -missed)


def _site_line(scope: Scope, site: SiteRow) -> Line:
    rows = _site_rows(scope, site)
    late = [row.days_overdue for row in rows if row.days_overdue]
    below = phrase("spore.longest", days=days(max(late))) if late else ""
    cells = (
        site_cell(scope.tables, site),
        Cell(out_of(len(late), len(rows)), below, number_key(max(late, default=0))),
        count_cell(sum(row.cycles_while_overdue or 0 for row in rows)),
        weeks_cell(rows),
        count_cell(sum(row.growth_on is not None for row in rows)),
        count_cell(scope.tables.pending.get(site.site_id, 0)),
    )
    return Line(cells)


def _unit_line(tables: Tables, unit: UnitRow, row: SporeDueRow | None) -> Line:
    name = unit_cell(tables, unit, with_site=True)
    if row is None:
        return Line((name, Cell(unknown()), *(Cell() for _ in range(6))), "not_seen")
    mark = badge(row.state)
    why = worded("reason.spore_due", row.reason)
    gap = row.longest_gap_days
    waiting = row.pending_since_on
    cells = (
        name,
        Cell(mark.word, why, urgency(row.state), chart=mark.icon, state=row.state),
        overdue_cell(row),
        Cell(day(row.last_valid_on), key=str(row.last_valid_on or "")),
        due_cell(row),
        weeks_cell([row]),
        Cell(unknown() if gap is None else days(gap), key=number_key(gap)),
        Cell(day(waiting), key=str(waiting)) if waiting else Cell(phrase("spore.not_waiting")),
    )
    return Line(cells, row.state)
