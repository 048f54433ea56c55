"""Findings as a reader meets them: state, unit, why, since when, what next, and whose it is."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import badge
from pipeline.render.paths import site_page, unit_page
from pipeline.render.scope import STATES, Scope
from pipeline.render.tables.standing import FindingRow, FollowUpRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Finding, Findings, Link
from pipeline.render.words import count, day, days, printable, several, worded

MOST_FINDINGS = 10
"""Shown at once: a list that nobody reads to its end hides what is at its top."""
MOST_ACTS = 3


def findings(scope: Scope) -> Findings:
    """What needs doing in a scope, worst first."""
    rows = scope.findings
    found = tuple(finding(scope.tables, row) for row in rows)
    return Findings(
        phrase(f"findings.title.{scope.level}"),
        found[:MOST_FINDINGS],
        found[MOST_FINDINGS:],
        more_summary(rows[MOST_FINDINGS:]),
        phrase("findings.empty"),
    )


def finding(tables: Tables, row: FindingRow) -> Finding:
    """One finding with its links and what has been done about it."""
    site = tables.sites.get(row.site_id)
    open_days = (tables.as_of - row.since_on).days + 1 if row.since_on else 0
    return Finding(
        row.finding_id,
        badge(row.state, worded("kind", row.kind)),
        _unit(tables, row.unit_serial),
        Link(
            printable(site.name) if site else printable(row.site_id),
            site_page(row.site_id) if site else "",
        ),
        printable(row.why),
        day(row.since_on),
        phrase("findings.open_for", days=days(open_days)) if open_days > 1 else "",
        printable(row.next_step),
        printable(row.owner) if row.owner else phrase("findings.nobody"),
        bool(row.owner),
        tuple(_act(act) for act in tables.follow_ups.get(row.finding_id, [])[:MOST_ACTS]),
    )


def more_summary(rows: list[FindingRow]) -> str:
    """How many findings are not shown at once, by state: "14 more: 3 to act on now, ..."."""
    if not rows:
        return ""
    states = [state for state in STATES if any(row.state == state for row in rows)]
    parts = [
        phrase(f"findings.more_{state}", sum(row.state == state for row in rows))
        for state in states
    ]
    return phrase("findings.more", number=count(len(rows)), parts=several(parts))


def _unit(tables: Tables, serial: str | None) -> Link:
    if serial is None:
        return Link(phrase("findings.whole_site"))
    unit = tables.units.get(serial)
    return Link(printable(unit.label), unit_page(serial)) if unit else Link(printable(serial))


def _act(act: FollowUpRow) -> str:
    return phrase(
        "findings.done",
        day=day(act.done_on),
        action=printable(act.action or "").rstrip(".") or phrase("findings.no_action"),
        role=printable(act.by_role) if act.by_role else phrase("findings.no_role"),
    )
