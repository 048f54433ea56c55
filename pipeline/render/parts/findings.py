"""Findings as a reader meets them: state, unit, why, since when, what next, and whose it is."""

from collections import Counter

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import badge
from pipeline.render.parts.cells import site_name
from pipeline.render.paths import finding_page, site_page, unit_page
from pipeline.render.scope import STATES, Scope
from pipeline.render.tables.standing import FindingRow, FollowUpRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Finding, Findings, Link
from pipeline.render.words import count, day, days, printable, several, worded

MOST_FINDINGS = 10
"""Shown at once: a list that nobody reads to its end hides what is at its top."""
MOST_OF_NETWORK = 100
"""Of a large network there may be thousands; the pages of regions and sites have them all."""
MOST_ACTS = 3
MOST_WHYS = 2
"""Findings of one entry told one by one; the unit's page tells them all."""


def findings(scope: Scope) -> Findings:
    """What needs doing in a scope, worst first."""
    groups = grouped(scope.findings)
    most = MOST_OF_NETWORK if scope.level == "network" else len(groups)
    found = tuple(finding(scope.tables, group, MOST_WHYS) for group in groups[:most])
    left = len(groups) - len(found)
    return Findings(
        phrase(f"findings.title.{scope.level}"),
        found[:MOST_FINDINGS],
        found[MOST_FINDINGS:],
        more_summary(groups[MOST_FINDINGS:]),
        phrase("findings.empty"),
        phrase("findings.rest", left) if left else "",
    )


def grouped(rows: list[FindingRow]) -> list[list[FindingRow]]:
    """Findings of one unit, kind and state that ask for the same next step, as one entry.

    An entry stands where its most urgent finding stands.
    """
    groups: dict[tuple[str, str, str, str, str], list[FindingRow]] = {}
    for row in rows:
        key = (row.unit_serial or "", row.site_id, row.kind, row.state, row.next_step)
        groups.setdefault(key, []).append(row)
    return list(groups.values())


def finding(tables: Tables, rows: list[FindingRow], most: int) -> Finding:
    """One entry with its links, its first findings in words, and what has been done about it."""
    row = rows[0]
    since_on = min(one.since_on for one in rows)
    open_days = (tables.as_of - since_on).days + 1
    acts = [act for one in rows for act in tables.follow_ups.get(one.finding_id, [])]
    return Finding(
        badge(row.state, worded("kind", row.kind)),
        _unit(tables, row.unit_serial),
        Link(
            site_name(tables, row.site_id),
            site_page(row.site_id) if row.site_id in tables.sites else "",
        ),
        tuple(printable(one.why) for one in rows[:most]),
        phrase("findings.alike", len(rows) - most) if len(rows) > most else "",
        tuple(Link(one.finding_id, finding_page(one.finding_id)) for one in rows[:most]),
        day(since_on),
        phrase("findings.open_for", days=days(open_days)) if open_days > 1 else "",
        printable(row.next_step),
        printable(row.owner) if row.owner else phrase("findings.nobody"),
        bool(row.owner),
        tuple(_act(act) for act in acts[:MOST_ACTS]),
    )


def more_summary(groups: list[list[FindingRow]]) -> str:
    """How many entries are not shown at once, by state: "14 more: 3 to act on now, ..."."""
    if not groups:
        return ""
    counts = Counter(group[0].state for group in groups)
    parts = [phrase(f"findings.more_{state}", counts[state]) for state in STATES if counts[state]]
    return phrase("findings.more", number=count(len(groups)), parts=several(parts))


def _unit(tables: Tables, serial: str | None) -> Link:
    if serial is None:
        return Link(phrase("findings.whole_site"))
    unit = tables.units.get(serial)
    return Link(printable(unit.label), unit_page(serial)) if unit else Link(printable(serial))


def _act(act: FollowUpRow) -> str:
    return phrase(
        "findings.done",
        day=day(act.done_on),
        action=printable(act.action).rstrip(".") if act.action else phrase("findings.no_action"),
        role=worded("role", act.by_role) if act.by_role else phrase("findings.no_role"),
    )
