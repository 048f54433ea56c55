"""The funnel of sites and what it says in words."""

from bisect import bisect_left
from math import sqrt

from pipeline.base.phrases import phrase
from pipeline.render.charts.funnel import MOST_NAMES, Funnel, FunnelLimit, FunnelPoint, funnel
from pipeline.render.charts.marks import icon
from pipeline.render.parts.news import STOPPED, network_share
from pipeline.render.scope import Scope
from pipeline.render.tables.stops import FunnelRow
from pipeline.render.views import LegendItem, Section
from pipeline.render.words import decimal, printable, several


def funnel_section(scope: Scope) -> Section:
    """A section that holds only the chart, its sentence and its notes."""
    share = network_share(scope)
    points, left_out = _points(scope)
    title = phrase("funnel.title")
    if share is None or not points:
        return Section("funnel", title, phrase("funnel.nobody"))
    if len(points) == 1:
        return Section("funnel", title, phrase("funnel.alone"))
    limits = scope.tables.funnel.get("site", [])
    high = sorted(point.name for point in points if point.shape == "act_now")
    chart = Funnel(
        tuple(points),
        tuple(
            FunnelLimit(row.denominator, row.low_outer, row.low_inner, row.high_inner,
                        row.high_outer)
            for row in limits
        ),
        share,
        title,
        phrase("funnel.description", len(points)),
        phrase("funnel.across"),
    )  # fmt: skip
    notes = [phrase("funnel.note")] if limits else []
    notes += _widening(limits)
    if left_out:
        notes.append(phrase("funnel.left_out", left_out))
    if len(high) > MOST_NAMES:
        notes.append(phrase("funnel.more_names", names=several(high[MOST_NAMES:])))
    return Section(
        "funnel",
        title,
        _lead(high, bool(limits)),
        funnel(chart, "funnel"),
        _legend(points) if limits else (),
        notes=tuple(notes),
    )


def _lead(high: list[str], has_limits: bool) -> str:
    if not has_limits:
        return phrase("funnel.no_limits")
    names = several(high[:MOST_NAMES]) if high else ""
    return phrase("funnel.above", len(high), names=names)


def _widening(limits: list[FunnelRow]) -> list[str]:
    """In which way the limits were widened and how far; nothing where they were not."""
    if not limits or limits[0].widening == "none":
        return []
    if limits[0].widening == "additive":
        points = decimal(100 * limits[0].between_share, 2)
        return [phrase("funnel.widened_additive", points=points)]
    return [phrase("funnel.widened", factor=decimal(sqrt(limits[0].dispersion), 2))]


def _points(scope: Scope) -> tuple[list[FunnelPoint], int]:
    """The ranked sites as points, and how many were left out for running too little."""
    limits = scope.tables.funnel.get("site", [])
    points, left_out = [], 0
    for site in scope.sites:
        row = scope.tables.rankings.get((STOPPED, "site", site.site_id))
        if row is None or not row.is_ranked or row.share is None:
            left_out += 1
            continue
        shape = shape_of(row.share, row.denominator, limits)
        name = printable(site.name)
        points.append(FunnelPoint(name, row.denominator, row.share, shape, shape == "act_now"))
    return points, left_out


def shape_of(share: float, denominator: int, limits: list[FunnelRow]) -> str:
    """The mark of a point, by the limits at its own volume.

    Should those be missing, by the nearest below: limits draw together as the volume grows, so a
    point is never said to be outside by a limit that is stricter than its own.
    """
    place = bisect_left([row.denominator for row in limits], denominator + 1) - 1
    if place < 0:
        return "usual"
    row = limits[place]
    if share > row.high_outer:
        return "act_now"
    if share > row.high_inner:
        return "look_into"
    if share < row.low_outer:
        return "lower"
    return "usual"


def _legend(points: list[FunnelPoint]) -> tuple[LegendItem, ...]:
    shapes = {point.shape for point in points}
    return tuple(
        LegendItem(
            icon(shape), phrase(f"funnel_mark.{shape}", sum(p.shape == shape for p in points))
        )
        for shape in ("act_now", "look_into", "usual", "lower")
        if shape in shapes
    )
