"""A site's page: what needs doing here, what is due, its units on one scale, what to mend."""

from dataclasses import replace

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import (
    likely_cell,
    position_cell,
    position_column,
    recent_cell,
    share_cell,
    state_cell,
    unit_cell,
    weeks_cell,
)
from pipeline.render.parts.certificate import certificate_section
from pipeline.render.parts.changes import changes_section
from pipeline.render.parts.due import due_section
from pipeline.render.parts.findings import findings
from pipeline.render.parts.frame import frame
from pipeline.render.parts.mend import balance_section, mend_section
from pipeline.render.parts.news import ALL_STOPPED, STOPPED, coverage, headline
from pipeline.render.parts.reasons import common_reason, reason_table
from pipeline.render.parts.routine import routine_section
from pipeline.render.parts.site_habit import site_habit_section
from pipeline.render.parts.spore import due_cell
from pipeline.render.parts.stopped import scale_top, ticks
from pipeline.render.parts.strip import spore_strip, strip_legend, strip_sentence
from pipeline.render.parts.unseen import unseen
from pipeline.render.parts.verdict import judged_section
from pipeline.render.paths import region_page, site_calendar, unit_page
from pipeline.render.scope import Scope, state_of
from pipeline.render.tables.register import UnitRow
from pipeline.render.view_network import OverviewView
from pipeline.render.views import (
    Cell,
    Column,
    Fact,
    Figure,
    Line,
    Link,
    Section,
    Table,
)
from pipeline.render.words import (
    count,
    day,
    decimal,
    percent,
    percent_range,
    printable,
    with_share,
)


def site_view(scope: Scope) -> OverviewView:
    """Everything about one site."""
    site = scope.sites[0]
    region = Link(printable(site.region), region_page(site.region_id))
    calendar = Link(phrase("calendar.link"), site_calendar(site.site_id))
    return OverviewView(
        frame(scope, scope.name, (region,)),
        scope.name,
        headline(scope),
        _lead(scope),
        coverage(scope),
        (),
        findings(scope),
        unseen(scope),
        (
            changes_section(scope),
            replace(due_section(scope), links=(calendar,)),
            _units(scope),
            _strips(scope),
            routine_section(scope),
            site_habit_section(scope),
            certificate_section(scope),
            _reasons(scope),
            judged_section(scope),
            mend_section(scope),
            balance_section(scope),
        ),
        "site",
        _identity(scope),
    )


def _lead(scope: Scope) -> str:
    rankings = scope.tables.rankings
    row = rankings.get((STOPPED, "site", scope.subject_id))
    every = rankings.get((ALL_STOPPED, "site", scope.subject_id))
    network = rankings.get((STOPPED, "network", "network"))
    if row is None or every is None or network is None or row.denominator == 0:
        return phrase("site.none_run")
    return phrase(
        "site.lead",
        here=with_share(row.numerator, row.denominator),
        network=percent(network.share),
        likely=percent(row.likely),
        range=percent_range(row.likely_low, row.likely_high),
        every=count(every.numerator),
    )


def _identity(scope: Scope) -> tuple[Fact, ...]:
    site = scope.sites[0]
    closed = (
        phrase("site.closed", day=day(site.closed_on)) if site.closed_on else phrase("site.open")
    )
    return (
        Fact(printable(site.region), phrase("site.region")),
        Fact(count(len(scope.in_service)), phrase("site.units")),
        Fact(day(site.opened_on), phrase("site.opened"), closed),
        Fact(
            phrase("site.metres", m=decimal(site.altitude_m, 0)),
            phrase("site.altitude"),
            phrase("site.altitude_below"),
        ),
        Fact(
            printable(site.owner) if site.owner else phrase("findings.nobody"),
            phrase("site.owner"),
        ),
    )


def _units(scope: Scope) -> Section:
    tables = scope.tables
    marks = ticks(tables)
    rows = [tables.rankings.get((STOPPED, "unit", unit.unit_serial)) for unit in scope.in_service]
    top = scale_top(rows, marks)
    table = Table(
        "units",
        phrase("site.units_table"),
        (
            Column(phrase("column.unit")),
            Column(phrase("column.state")),
            Column(phrase("column.stopped_equipment"), is_number=True),
            Column(phrase("column.likely")),
            position_column(),
            Column(phrase("column.recent"), is_number=True),
            Column(phrase("column.weeks"), is_wide_only=True),
            Column(phrase("column.common_reason"), is_wide_only=True),
            Column(phrase("column.next_test")),
        ),
        tuple(_unit_line(scope, unit, marks, top) for unit in scope.in_service),
        phrase("news.no_units"),
    )
    lead = phrase("site.units_lead", network=percent(marks[0] if marks else None))
    gone = _gone(scope)
    shown = (table, gone) if gone.lines else (table,)
    return Section("units", phrase("site.units_title"), lead, tables=shown)


def _gone(scope: Scope) -> Table:
    """Units that left service during the twelve months; their pages are kept."""
    lines = tuple(
        Line((unit_cell(scope.tables, unit, with_site=False), Cell(day(unit.to_on))))
        for unit in scope.units
        if not unit.is_in_service
    )
    columns = (Column(phrase("column.unit")), Column(phrase("column.left_on")))
    return Table("units-gone", phrase("site.gone_table"), columns, lines, "")


def _unit_line(scope: Scope, unit: UnitRow, marks: tuple[float, ...], top: float) -> Line:
    tables, serial = scope.tables, unit.unit_serial
    row, state = tables.rankings.get((STOPPED, "unit", serial)), state_of(tables, "unit", serial)
    cells = (
        unit_cell(tables, unit, with_site=False),
        state_cell(tables, "unit", serial),
        share_cell(row),
        likely_cell(row, marks, top),
        position_cell(row),
        recent_cell(tables, (unit,)),
        weeks_cell(tables, "unit", serial),
        common_reason(tables, unit),
        due_cell(tables.spore_due.get(serial)),
    )
    return Line(cells, state)


def _strips(scope: Scope) -> Section:
    figures = []
    rows = [scope.tables.weeks_of(unit.unit_serial) for unit in scope.in_service]
    for place, (unit, row) in enumerate(zip(scope.in_service, rows, strict=True), start=1):
        name = printable(unit.label)
        chart = spore_strip(row, f"strip-{place}", name)
        figures.append(Figure(Link(name, unit_page(unit.unit_serial)), chart, strip_sentence(row)))
    return Section(
        "strips",
        phrase("site.strips_title"),
        phrase("site.strips_lead"),
        legend=strip_legend(rows),
        figures=tuple(figures),
    )


def _reasons(scope: Scope) -> Section:
    return Section(
        "why",
        phrase("reasons.title"),
        phrase("reasons.lead"),
        tables=(reason_table(scope.tables, scope.in_service),),
    )
