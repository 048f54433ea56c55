"""Letters that did not reach their readers: a report that nobody gets helps nobody."""

from pipeline.base.period import Month
from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import site_name
from pipeline.render.scope import Scope
from pipeline.render.tables.months import UnreachedRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import day, month, printable, unknown, worded

MOST_LINES = 50


def unreached_section(scope: Scope) -> Section:
    """Whom the servers refused, and whom they gave back, the latest first."""
    rows = scope.tables.unreached
    columns = (
        Column(phrase("column.reader")),
        Column(phrase("column.about")),
        Column(phrase("column.letter_of")),
        Column(phrase("column.how")),
        Column(phrase("column.told_on")),
    )
    lines = tuple(_line(scope, row) for row in rows[:MOST_LINES])
    table = Table("unreached", phrase("unreached.table"), columns, lines, phrase("silence.none"))
    lead = phrase("unreached.lead", len(rows))
    notes = (phrase("unreached.note"),) if rows else ()
    title = phrase("unreached.title")
    return Section("letters-lost", title, lead, notes=notes, tables=(table,))


def _line(scope: Scope, row: UnreachedRow) -> Line:
    return Line(
        (
            Cell(masked(row.recipient)),
            Cell(_about(scope, row)),
            Cell(_period(row.period)),
            Cell(worded("unreached_state", row.state)),
            Cell(day(row.told_on), key=str(row.told_on)),
        )
    )


def masked(address: str) -> str:
    """An address by its first letter: those who declared it know it, and others need not."""
    name, _, domain = printable(address).rpartition("@")
    return phrase("unreached.reader", first=name[:1], domain=domain)


def _about(scope: Scope, row: UnreachedRow) -> str:
    if row.level is None or row.subject_id is None:
        return unknown()
    if row.level == "site":
        return site_name(scope.tables, row.subject_id)
    if row.level == "network":
        return printable(scope.tables.network.name)
    regions = {site.region_id: site.region for site in scope.tables.sites.values()}
    return printable(regions.get(row.subject_id, row.subject_id))


def _period(period: str | None) -> str:
    """A month as such; the watch is dated by the day."""
    if period is None:
        return unknown()
    return month(Month.parse(period).first_on) if len(period) == len("2026-10") else period
