"""Units that are silent, and stops whose reason nobody recorded."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import number_key, share_cell, site_cell, site_name, unit_cell
from pipeline.render.parts.news import NOT_KNOWN
from pipeline.render.scope import Scope
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import count, day, printable, unknown, worded


def silent_section(scope: Scope) -> Section:
    """Units in service from which nothing has come for too long; expected, not received."""
    coverage = scope.tables.coverage
    rows = [
        (unit, coverage.get(unit.unit_serial))
        for unit in scope.in_service
        if unit.unit_serial not in coverage or coverage[unit.unit_serial].state == "not_seen"
    ]
    lines = []
    for unit, row in rows:
        silent = row.days_silent if row else None
        lines.append(
            Line(
                (
                    unit_cell(scope.tables, unit, with_site=True),
                    Cell(day(row.heard_on if row else None)),
                    Cell(unknown() if silent is None else count(silent), key=number_key(silent)),
                    Cell(
                        worded("reason.coverage", row.reason) if row and row.reason else unknown()
                    ),
                )
            )
        )
    columns = (
        Column(phrase("column.unit")),
        Column(phrase("column.heard_on")),
        Column(phrase("column.days_silent"), is_number=True),
        Column(phrase("column.how")),
    )
    table = Table("silent", phrase("silence.table"), columns, tuple(lines), phrase("silence.none"))
    lead = phrase("silence.lead", len(rows), total=count(len(scope.in_service)))
    return Section("silent-units", phrase("silence.title"), lead, tables=(table,))


def locations_section(scope: Scope) -> Section:
    """Where logs were looked for in the last run and none could be read."""
    rows = scope.tables.locations
    lines = tuple(
        Line(
            (
                Cell(site_name(scope.tables, row.site_id)),
                Cell(printable(row.feed)),
                Cell(worded("location_state", row.state)),
                Cell(day(row.not_seen_since_on)),
            )
        )
        for row in rows
    )
    columns = (
        Column(phrase("column.site")),
        Column(phrase("column.feed")),
        Column(phrase("column.how")),
        Column(phrase("column.not_seen_since")),
    )
    table = Table("locations", phrase("silence.locations_table"), columns, lines,
                  phrase("silence.none"))  # fmt: skip
    lead = phrase("silence.locations_lead", len(rows))
    return Section("locations-read", phrase("silence.locations_title"), lead, tables=(table,))


def reasons_section(scope: Scope) -> Section:
    """How many stops have no known reason, site by site; most first."""
    rankings = scope.tables.rankings
    found = [
        (site, row)
        for site in scope.sites
        if (row := rankings.get((NOT_KNOWN, "site", site.site_id))) and row.denominator
    ]
    found.sort(key=lambda pair: (-pair[1].numerator, pair[0].name, pair[0].site_id))
    columns = (
        Column(phrase("column.site")),
        Column(phrase("column.no_reason"), is_number=True),
    )
    lines = tuple(Line((site_cell(scope.tables, site), share_cell(row))) for site, row in found)
    table = Table(
        "no-reason", phrase("silence.reasons_table"), columns, lines, phrase("reasons.none"),
        is_sortable=True,
    )  # fmt: skip
    network = rankings.get((NOT_KNOWN, "network", "network"))
    x, n = (network.numerator, network.denominator) if network else (0, 0)
    lead = phrase("silence.reasons_lead", x, total=count(n))
    return Section("no-reasons", phrase("silence.reasons_title"), lead, tables=(table,))
