"""The network's page: the news, what needs doing, the three rankings, and every site."""

from dataclasses import dataclass

from pipeline.base.phrases import phrase
from pipeline.render.parts.certificate import certificate_section
from pipeline.render.parts.changes import changes_section
from pipeline.render.parts.everything import everything, region_table
from pipeline.render.parts.explained import explained
from pipeline.render.parts.findings import findings
from pipeline.render.parts.frame import frame
from pipeline.render.parts.news import (
    ALL_STOPPED,
    MISSED,
    NOT_KNOWN,
    STOPPED,
    TASK_LATE,
    coverage,
    facts,
    headline,
    lead,
)
from pipeline.render.parts.routine import routine_section
from pipeline.render.parts.spore import overdue
from pipeline.render.parts.stopped import stopped
from pipeline.render.parts.unseen import unseen
from pipeline.render.parts.upkeep import upkeep
from pipeline.render.parts.verdict import judged_section
from pipeline.render.parts.watch import watch
from pipeline.render.scope import Scope, region_scopes
from pipeline.render.views import Fact, Findings, Frame, Section, Unseen


@dataclass(frozen=True)
class OverviewView:
    """The page of the network, of a region or of a site; `identity` says what a site is."""

    frame: Frame
    title: str
    headline: tuple[str, ...]
    lead: str
    coverage: tuple[Fact, ...]
    facts: tuple[Fact, ...]
    findings: Findings
    unseen: Unseen
    sections: tuple[Section, ...]
    level: str
    identity: tuple[Fact, ...] = ()


def network_view(scope: Scope) -> OverviewView:
    """The page that the compliance lead opens once a week."""
    found = region_scopes(scope.tables)
    return overview(scope, after=(regions(scope, found),) if len(found) > 1 else ())


def overview(
    scope: Scope, *, before: tuple[Section, ...] = (), after: tuple[Section, ...] = ()
) -> OverviewView:
    """A page of several sites; `before` and `after` stand around the three rankings."""
    tables, place = scope.tables, (scope.level, scope.subject_id)
    return OverviewView(
        frame(scope, scope.name, is_first=scope.level == "network"),
        scope.name,
        headline(scope),
        lead(scope),
        coverage(scope),
        facts(scope),
        findings(scope),
        unseen(scope),
        (
            changes_section(scope),
            watch(scope),
            *before,
            explained(tables, stopped(scope), *place, STOPPED, ALL_STOPPED, NOT_KNOWN),
            explained(tables, overdue(scope), *place, MISSED),
            explained(tables, upkeep(scope), *place, TASK_LATE),
            routine_section(scope),
            certificate_section(scope),
            judged_section(scope),
            *after,
            everything(scope),
        ),
        "network",
    )


def regions(scope: Scope, scopes: list[Scope]) -> Section:
    """The regions beside one another."""
    return Section(
        "regions-compared",
        phrase("region.title"),
        phrase("region.lead", len(scopes)),
        tables=(region_table(scope, scopes),),
    )
