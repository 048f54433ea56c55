"""The page of all units: where a reader who knows a name, or wants another order, finds a unit."""

from dataclasses import dataclass

from pipeline.base.phrases import phrase
from pipeline.render.parts.everything import unit_table
from pipeline.render.parts.frame import frame
from pipeline.render.parts.stopped import ticks
from pipeline.render.scope import Scope
from pipeline.render.views import Frame, Table
from pipeline.render.words import percent


@dataclass(frozen=True)
class UnitsView:
    """One long table, and what its figures mean."""

    frame: Frame
    title: str
    lead: str
    note: str
    table: Table


def units_view(scope: Scope) -> UnitsView:
    """Every unit in service of the network, most urgent first."""
    title, marks = phrase("all.units"), ticks(scope.tables)
    return UnitsView(
        frame(scope, title),
        title,
        phrase(
            "all.lead",
            sites=phrase("name.sites", len(scope.sites)),
            units=phrase("all.unit_count", len(scope.in_service)),
        ),
        phrase("all.note", network=percent(marks[0] if marks else None)),
        unit_table(scope, marks),
    )
