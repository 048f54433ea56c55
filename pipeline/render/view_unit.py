"""A unit's page: what it is, how it stands, and seven numbered sections that people can cite."""

from dataclasses import dataclass

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import badge_of
from pipeline.render.parts.explained import explained
from pipeline.render.parts.findings import Findings, finding, grouped
from pipeline.render.parts.frame import frame
from pipeline.render.parts.news import ALL_STOPPED, MISSED, STOPPED, TASK_LATE
from pipeline.render.parts.panels import wear_section
from pipeline.render.parts.periods import periods_section
from pipeline.render.parts.sources import sources_section
from pipeline.render.parts.spore import due_cell
from pipeline.render.parts.tasks_of_unit import tasks_section
from pipeline.render.parts.tests import tests_section
from pipeline.render.parts.traces import trace_sections
from pipeline.render.parts.verdict import verdict_section
from pipeline.render.paths import STATISTICS, measure_page, region_page, site_page
from pipeline.render.scope import Scope, state_of
from pipeline.render.tables.register import UnitRow
from pipeline.render.views import Badge, Fact, Frame, Link, Section
from pipeline.render.words import (
    day,
    out_of,
    percent,
    percent_range,
    position,
    printable,
    share_of,
    unknown,
    worded,
)


@dataclass(frozen=True)
class UnitView:
    """The page that an inspector opens."""

    frame: Frame
    title: str
    badge: Badge
    verdict: str
    facts: tuple[Fact, ...]
    findings: Findings
    sections: tuple[Section, ...]


def unit_view(scope: Scope, unit: UnitRow) -> UnitView:
    """Everything about one unit of a site."""
    tables, site = scope.tables, scope.sites[0]
    label = printable(unit.label)
    trail = (
        Link(printable(site.region), region_page(site.region_id)),
        Link(scope.name, site_page(site.site_id)),
    )
    subject = ("unit", unit.unit_serial)
    sections = (
        explained(tables, periods_section(tables, unit, 1), *subject, STOPPED, ALL_STOPPED),
        explained(tables, tests_section(tables, unit, 2), *subject, MISSED),
        explained(tables, tasks_section(tables, unit, 3), *subject, TASK_LATE),
        wear_section(tables, unit, 4),
        verdict_section(tables, site, unit, 5),
        *trace_sections(tables, site, unit, 6),
        sources_section(tables, unit, 7),
    )
    return UnitView(
        frame(scope, label, trail),
        phrase("unit.title", unit=label, site=scope.name),
        badge_of(tables, "unit", unit.unit_serial),
        _verdict(scope, unit),
        _facts(scope, unit),
        _findings(scope, unit),
        sections,
    )


def _verdict(scope: Scope, unit: UnitRow) -> str:
    if not unit.is_in_service:
        return phrase("unit.gone", day=day(unit.to_on))
    row = scope.tables.states.get(("unit", unit.unit_serial))
    return (
        printable(row.reason) if row and row.reason else worded("verdict_of", _state(scope, unit))
    )


def _state(scope: Scope, unit: UnitRow) -> str:
    return state_of(scope.tables, "unit", unit.unit_serial)


def _findings(scope: Scope, unit: UnitRow) -> Findings:
    rows = [row for row in scope.findings if row.unit_serial == unit.unit_serial]
    found = tuple(finding(scope.tables, group, len(group)) for group in grouped(rows))
    return Findings(phrase("findings.title.unit"), found, (), "", phrase("findings.empty"))


def _facts(scope: Scope, unit: UnitRow) -> tuple[Fact, ...]:
    tables, serial = scope.tables, unit.unit_serial
    row = tables.rankings.get((STOPPED, "unit", serial))
    due = tables.spore_due.get(serial)
    weeks = phrase("number.unknown")
    if due is not None and due.weeks_in_use:
        weeks = out_of(due.weeks_on_time, due.weeks_in_use)
    ran = row is not None and row.denominator > 0
    return (
        Fact(printable(serial), phrase("unit.serial"), worded("air_removal", unit.air_removal)),
        Fact(day(unit.from_on), phrase("unit.since")),
        Fact(
            out_of(row.numerator, row.denominator) if row and ran else phrase("number.none_run"),
            phrase("unit.stopped"),
            share_of(row.numerator, row.denominator) if row and ran else "",
            measure_page(STOPPED),
        ),
        Fact(
            percent_range(row.likely_low, row.likely_high) if row else unknown(),
            phrase("unit.likely"),
            phrase("unit.likely_below", network=percent(_network(scope))),
            STATISTICS,
        ),
        Fact(
            _place(scope, unit), phrase("unit.position"), phrase("unit.position_below"), STATISTICS
        ),
        Fact(weeks, phrase("unit.weeks"), href=measure_page(MISSED)),
        Fact(due_cell(due).text, phrase("unit.due")),
    )


def _network(scope: Scope) -> float | None:
    row = scope.tables.rankings.get((STOPPED, "network", "network"))
    return row.share if row else None


def _place(scope: Scope, unit: UnitRow) -> str:
    row = scope.tables.rankings.get((STOPPED, "unit", unit.unit_serial))
    if row is None or not row.is_ranked or row.position_low is None or row.position_high is None:
        return phrase("position.none")
    return position(row.position_low, row.position_high, row.position_count or 0)
