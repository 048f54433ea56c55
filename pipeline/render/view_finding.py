"""The page of one finding: why, what asks for it, what to do, what was done, and its lines."""

from dataclasses import dataclass

from pipeline.base.phrases import phrase
from pipeline.render.explain.behind import Line as Evidence
from pipeline.render.explain.findings import Behind
from pipeline.render.parts.badges import badge
from pipeline.render.parts.cells import site_name
from pipeline.render.parts.explained import explain_command
from pipeline.render.parts.frame import frame
from pipeline.render.parts.periods import source_cell
from pipeline.render.paths import incident_page, region_page, site_page, unit_page
from pipeline.render.scope import Scope
from pipeline.render.tables.standing import FindingRow, FollowUpRow
from pipeline.render.views import Badge, Cell, Column, Fact, Frame, Line, Link, Section, Table
from pipeline.render.words import count, day, days, moment, printable, unknown, worded


@dataclass(frozen=True)
class FindingView:
    """The page for whoever is to settle one finding."""

    frame: Frame
    title: str
    badge: Badge
    verdict: str
    facts: tuple[Fact, ...]
    sections: tuple[Section, ...]


def finding_view(scope: Scope, row: FindingRow, lines: list[Behind]) -> FindingView:
    """Everything about one finding; `lines` are the first of those that tell of it."""
    subject = _subject(scope, row)
    return FindingView(
        frame(
            scope, phrase("finding_page.here", kind=worded("kind", row.kind)), _trail(scope, row)
        ),
        phrase("finding_page.title", kind=worded("kind", row.kind), subject=subject),
        badge(row.state, worded("kind", row.kind)),
        printable(row.why),
        _facts(scope, row),
        (_next(scope, row), _done(scope, row), _evidence(row, lines)),
    )


def _subject(scope: Scope, row: FindingRow) -> str:
    site = site_name(scope.tables, row.site_id)
    unit = scope.tables.units.get(row.unit_serial or "")
    name = printable(unit.label) if unit else row.unit_serial and printable(row.unit_serial)
    return phrase("finding_page.of_unit", unit=name, site=site) if name else site


def _trail(scope: Scope, row: FindingRow) -> tuple[Link, ...]:
    """Down to the unit, as far as the register knows it."""
    site = scope.tables.sites.get(row.site_id)
    unit = scope.tables.units.get(row.unit_serial or "")
    return (
        *((Link(printable(site.region), region_page(site.region_id)),
           Link(printable(site.name), site_page(site.site_id))) if site else ()),
        *((Link(printable(unit.label), unit_page(unit.unit_serial)),) if unit else ()),
    )  # fmt: skip


def _facts(scope: Scope, row: FindingRow) -> tuple[Fact, ...]:
    open_days = (scope.tables.as_of - row.since_on).days + 1
    return (
        Fact(day(row.since_on), phrase("finding_page.since"),
             phrase("findings.open_for", days=days(open_days))),
        Fact(printable(row.owner) if row.owner else phrase("findings.nobody"),
             phrase("finding_page.owner")),
        Fact(printable(row.unit_serial) if row.unit_serial else phrase("findings.whole_site"),
             phrase("finding_page.unit")),
        Fact(row.finding_id, phrase("finding_page.id"), phrase("finding_page.id_below")),
    )  # fmt: skip


def _next(scope: Scope, row: FindingRow) -> Section:
    """What to do, and by what right."""
    rule, source = row.rule, row.source
    incident_id = scope.tables.incident_of.get(row.finding_id)
    return Section(
        "next",
        phrase("finding_page.next_title"),
        printable(row.next_step),
        notes=(
            phrase("finding_page.rule", rule=printable(rule), source=printable(source or unknown()))
            if rule
            else phrase("finding_page.no_rule"),
            phrase("finding_page.decides"),
        ),
        links=(Link(phrase("finding_page.to_incident"), incident_page(incident_id)),)
        if incident_id
        else (),
    )


def _done(scope: Scope, row: FindingRow) -> Section:
    acts = scope.tables.follow_ups.get(row.finding_id, [])
    columns = (
        Column(phrase("column.done_on")),
        Column(phrase("column.what")),
        Column(phrase("column.by")),
    )
    table = Table(
        "acts", phrase("finding_page.acts"), columns, tuple(map(_act, acts)),
        phrase("finding_page.no_acts"),
    )  # fmt: skip
    lead = phrase("finding_page.done_lead", len(acts))
    return Section("done", phrase("finding_page.done_title"), lead, tables=(table,) if acts else ())


def _act(act: FollowUpRow) -> Line:
    return Line(
        (
            Cell(day(act.done_on), key=act.done_on.isoformat()),
            Cell(printable(act.action) if act.action else phrase("findings.no_action")),
            Cell(worded("role", act.by_role) if act.by_role else phrase("findings.no_role")),
        )
    )


def _evidence(row: FindingRow, lines: list[Behind]) -> Section:
    """The lines that tell of it; the command prints those that are not shown."""
    total = lines[0].counted_count if lines else 0
    are_logged = any(one.line.path for one in lines)
    columns = (
        Column(phrase("column.when")),
        *(() if row.unit_serial else (Column(phrase("column.unit")),)),
        Column(phrase("column.what")),
        Column(phrase("column.log_line")),
    )
    table = Table(
        "lines", phrase("finding_page.lines"), columns,
        tuple(_line(row, one.line) for one in lines), phrase("finding_page.no_lines"),
    )  # fmt: skip
    hidden = total - len(lines)
    return Section(
        "evidence",
        phrase("finding_page.evidence_title"),
        phrase("finding_page.evidence_lead", total if are_logged else 0),
        notes=(
            *((phrase("finding_page.more", hidden, shown=count(len(lines))),) if hidden else ()),
        ),
        tables=(table,) if lines else (),
        command=explain_command(row.finding_id),
    )


def _line(row: FindingRow, line: Evidence) -> Line:
    """One line; the unit is named where the finding is of the whole site."""
    return Line(
        (
            Cell(moment(line.happened_at), key=line.happened_at.isoformat()),
            *(() if row.unit_serial else (Cell(printable(line.unit_serial)),)),
            Cell(worded(line.word, line.code) if line.code else unknown(),
                 worded("stop_reason", line.reason) if line.reason else ""),
            source_cell(line.path, line.content_sha, line.line)
            if line.path and line.content_sha and line.line
            else Cell(phrase("explain.nowhere")),
        )
    )  # fmt: skip
