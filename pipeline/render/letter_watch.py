"""The letter of a day: what is new and must be acted on now. It never repeats an open finding."""

from collections.abc import Set

from pipeline.base.phrases import phrase
from pipeline.render.letter_parts import LetterView, around, findings_of, unseen_of
from pipeline.render.parts.findings import grouped
from pipeline.render.parts.unseen import unseen
from pipeline.render.scope import Scope
from pipeline.render.tables.standing import FindingRow
from pipeline.render.words import day

LEFT_TO_THE_MONTH = frozenset(
    {
        "spore_overdue",
        "spore_pending",
        "stops_year",
        "task_overdue",
        "routine_missed",
        "clock",
        "drift",
        "habit",
    }
)
"""Kinds that come by the calendar or slowly. What is not listed here is told on its first day."""


def urgent(row: FindingRow) -> bool:
    """Whether the watch tells of a finding: Act now, or a whole site from which nothing came."""
    if row.kind == "silent":
        return row.unit_serial is None
    return row.state == "act_now" and row.kind not in LEFT_TO_THE_MONTH


def watch_view(scope: Scope, new_ids: Set[str]) -> LetterView:
    """The letter about the findings of these ids; there must be one in the scope."""
    rows = [row for row in scope.findings if row.finding_id in new_ids]
    assert rows, "a watch letter without news would be noise"
    groups = grouped(rows)
    told, more = findings_of(scope, groups)
    when = day(scope.tables.as_of)
    view = LetterView(
        phrase("letter.watch.subject", len(groups), name=scope.name, where=told[0].where),
        phrase("letter.watch.headline", len(groups)),
        phrase("letter.watch.lead", day=when),
        findings_title=phrase("letter.findings"),
        findings=told,
        more=more,
        unseen_title=unseen(scope).title,
        unseen=unseen_of(scope),
    )
    return around(scope, view, "watch")
