"""The page of a growth, open or cleared: what is asked, what is on record, the loads in doubt."""

from dataclasses import dataclass, replace

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import badge
from pipeline.render.parts.frame import frame
from pipeline.render.parts.incident import loads_section, missing_steps, steps_section
from pipeline.render.paths import incident_list, region_page, site_page, unit_page
from pipeline.render.scope import Scope
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.spore import IncidentRow
from pipeline.render.views import Badge, Fact, Frame, Link, Section
from pipeline.render.words import count, day, printable, unknown, worded


@dataclass(frozen=True)
class IncidentView:
    """The page to work from after growth."""

    frame: Frame
    title: str
    badge: Badge
    verdict: str
    facts: tuple[Fact, ...]
    sections: tuple[Section, ...]


def incident_view(scope: Scope, unit: UnitRow, one: IncidentRow) -> IncidentView:
    """Everything about one growth of a unit of this site."""
    site, label = scope.sites[0], printable(unit.label)
    trail = (
        Link(printable(site.region), region_page(site.region_id)),
        Link(scope.name, site_page(site.site_id)),
        Link(label, unit_page(unit.unit_serial)),
    )
    loads = Link(phrase("incident.list"), incident_list(one.incident_id))
    here = phrase("incident.here", day=day(one.growth_on))
    return IncidentView(
        frame(scope, here, trail),
        phrase("incident.title", unit=label, site=scope.name, day=day(one.growth_on)),
        _badge(scope, one),
        phrase("incident.verdict_cleared", day=day(one.cleared_on))
        if one.cleared_on
        else phrase("incident.verdict"),
        _facts(one),
        (
            steps_section(scope.tables, one, 1),
            replace(loads_section(scope.tables, one, 2), links=(loads,)),
        ),
    )


def _badge(scope: Scope, one: IncidentRow) -> Badge:
    if one.cleared_on is None:
        return badge("act_now")
    missing = missing_steps(scope.tables.incident_steps.get(one.incident_id, []))
    return badge("look_into" if missing else "usual")


def _facts(one: IncidentRow) -> tuple[Fact, ...]:
    return (
        Fact(printable(one.test_id), phrase("incident.test")),
        Fact(day(one.growth_on), phrase("incident.exposed")),
        Fact(day(one.known_on) if one.known_on else unknown(), phrase("incident.known")),
        Fact(
            worded("program", one.program) if one.program else unknown(), phrase("incident.program")
        ),
        Fact(count(one.growth_count), phrase("incident.growths", one.growth_count)),
        Fact(
            day(one.last_valid_on) if one.last_valid_on else phrase("tests.never_valid"),
            phrase("incident.last_valid"),
        ),
    )
