"""The first ranking: stopped cycles, by site and by unit, and the funnel of the sites."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import (
    likely_cell,
    position_cell,
    position_column,
    recent_cell,
    share_cell,
    site_cell,
    state_cell,
    unit_cell,
    weeks_cell,
)
from pipeline.render.parts.funnel import funnel_section
from pipeline.render.parts.news import ALL_STOPPED, NOT_KNOWN, STOPPED
from pipeline.render.scope import Scope, state_of
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.standing import RankingRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import count, percent

MOST_LINES = 10
"""Lines of a ranking shown at once; every unit stands in the table of all units."""


@dataclass(frozen=True)
class Subject:
    """What a line of a ranking is about: a site or a unit, with the units that it stands for.

    Its name is asked for only where it is among the first.
    """

    level: str
    subject_id: str
    name: Callable[[], Cell]
    units: tuple[UnitRow, ...]


def stopped(scope: Scope) -> Section:
    """Who stops most, worst first, with the funnel where there are sites to compare."""
    chart = funnel_section(scope)
    return Section(
        "stopped",
        phrase("stopped.title"),
        chart.lead,
        chart.chart,
        chart.legend,
        notes=(*chart.notes, phrase("stopped.note")),
        tables=(site_table(scope), unit_table(scope)),
    )


def site_table(scope: Scope) -> Table:
    """The sites of a scope, most stopped first."""
    subjects = [
        Subject(
            "site",
            site.site_id,
            partial(site_cell, scope.tables, site),
            scope.units_at(site.site_id),
        )
        for site in scope.sites
    ]
    return _table(scope, "stopped-sites", phrase("stopped.by_site"), subjects)


def unit_table(scope: Scope) -> Table:
    """The units of a scope, most stopped first."""
    subjects = [
        Subject(
            "unit",
            unit.unit_serial,
            partial(unit_cell, scope.tables, unit, with_site=True),
            (unit,),
        )
        for unit in scope.in_service
    ]
    return _table(scope, "stopped-units", phrase("stopped.by_unit"), subjects)


def scale_top(rows: Sequence[RankingRow | None], ticks: tuple[float, ...]) -> float:
    """The end of the common scale of some bars: where the widest ranked one ends."""
    ends = [row.likely_high for row in rows if row and row.is_ranked and row.likely_high]
    return max([*ends, *(tick * 2 for tick in ticks), 0.01])


def ticks(tables: Tables, region_id: str = "") -> tuple[float, ...]:
    """What a bar is compared with: the network's share and, inside a region, the region's."""
    subjects = [("network", "network"), *([("region", region_id)] if region_id else [])]
    rows = [tables.rankings.get((STOPPED, level, subject)) for level, subject in subjects]
    return tuple(row.share for row in rows if row and row.share is not None)


def worst_first(row: RankingRow | None) -> tuple[bool, float, float]:
    """Ranked before unranked; then by the chance of being above the network, then by the share.

    Source for the order: E. C. Marshall and D. J. Spiegelhalter, BMJ 316 (1998) 1701-1705.
    """
    if row is None or not row.is_ranked:
        return (True, 0.0, -(row.likely or 0.0) if row else 0.0)
    return (False, -(row.p_worse or 0.0), -(row.likely or 0.0))


def _table(scope: Scope, uid: str, caption: str, subjects: list[Subject]) -> Table:
    tables = scope.tables
    rows = {one.subject_id: tables.rankings.get((STOPPED, one.level, one.subject_id))
            for one in subjects}  # fmt: skip
    marks = ticks(tables, scope.subject_id if scope.level == "region" else "")
    top = scale_top(list(rows.values()), marks)
    ordered = sorted(subjects, key=lambda one: worst_first(rows[one.subject_id]))
    lines = tuple(
        _line(tables, one, rows[one.subject_id], marks, top) for one in ordered[:MOST_LINES]
    )
    first = phrase("column.unit" if subjects and subjects[0].level == "unit" else "column.site")
    return Table(
        uid,
        first_of(caption, len(lines), len(subjects)),
        _columns(first, marks),
        lines,
        phrase("table.none"),
    )


def first_of(caption: str, shown: int, total: int) -> str:
    """A caption that says when a table holds only the first of many."""
    if shown >= total:
        return caption
    return phrase("table.first", caption=caption, shown=count(shown), total=count(total))


def _line(
    tables: Tables, one: Subject, row: RankingRow | None, marks: tuple[float, ...], top: float
) -> Line:
    level, subject_id = one.level, one.subject_id
    state = state_of(tables, level, subject_id)
    cells = (
        one.name(),
        state_cell(tables, level, subject_id),
        share_cell(row),
        likely_cell(row, marks, top),
        position_cell(row),
        recent_cell(tables, one.units),
        weeks_cell(tables, level, subject_id),
        share_cell(tables.rankings.get((ALL_STOPPED, level, subject_id))),
        share_cell(tables.rankings.get((NOT_KNOWN, level, subject_id)), "number.none_stopped"),
    )
    return Line(cells, state)


def _columns(first: str, marks: tuple[float, ...]) -> tuple[Column, ...]:
    network = percent(marks[0]) if marks else phrase("number.unknown")
    return (
        Column(first),
        Column(phrase("column.state")),
        Column(phrase("column.stopped_equipment"), is_number=True),
        Column(phrase("column.likely"), phrase("column.likely_below", share=network)),
        position_column(),
        Column(phrase("column.recent"), is_number=True),
        Column(phrase("column.weeks"), is_wide_only=True),
        Column(phrase("column.stopped_all"), is_number=True, is_wide_only=True),
        Column(phrase("column.no_reason"), is_number=True, is_wide_only=True),
    )
