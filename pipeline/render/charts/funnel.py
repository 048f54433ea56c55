"""Funnel plot: share against volume, with the limits that chance alone would keep to.

The limits are read from a table, never worked out here. Source of the form: D. J. Spiegelhalter,
Statistics in Medicine 24 (2005) 1185-1202.
"""

from dataclasses import dataclass

from markupsafe import Markup, escape

from pipeline.base.phrases import phrase
from pipeline.render.charts.axes import level_lines
from pipeline.render.charts.marks import SHAPES, mark
from pipeline.render.charts.scale import Scale, log_ticks, round_ticks, upper_end
from pipeline.render.charts.svg import Canvas, Mark, joined, level, path, text
from pipeline.render.charts.whole import wide_and_narrow
from pipeline.render.words import count, percent

MOST_NAMES = 12
"""Names written beside their marks; the view lists any others in words."""
LETTER_WIDTH, LINE_HEIGHT, LABEL_SPACE = 6.2, 13, 8
SIDE_LETTER_WIDTH = 6
"""Of the labels beside the plot, at most: they are sentences, and so narrower than names."""


@dataclass(frozen=True)
class FunnelPoint:
    """One subject: cycles run, share, the shape of its mark, and whether its name is written."""

    name: str
    denominator: int
    share: float
    shape: str
    is_named: bool


@dataclass(frozen=True)
class FunnelLimit:
    """The four limits for one volume."""

    denominator: int
    low_outer: float
    low_inner: float
    high_inner: float
    high_outer: float


@dataclass(frozen=True)
class Funnel:
    """All that a funnel plot shows; `limits` by rising volume, empty where none were worked out."""

    points: tuple[FunnelPoint, ...]
    limits: tuple[FunnelLimit, ...]
    network_share: float
    title: str
    description: str
    across: str


def funnel(chart: Funnel, uid: str) -> Markup:
    """The plot for a screen and for a phone; it needs at least one point."""
    longest = max(len(name) for name in (phrase("funnel.inner"), phrase("funnel.outer")))
    side = max(130, longest * SIDE_LETTER_WIDTH + LABEL_SPACE)
    wide = Canvas(uid, 1000, 380, 40, side, 16, 44)
    narrow = Canvas(f"{uid}-narrow", 350, 300, 38, 12, 16, 44)
    return wide_and_narrow(
        lambda on: _draw(chart, on), wide, narrow, chart.title, chart.description
    )


def _draw(chart: Funnel, canvas: Canvas) -> list[Mark]:
    volumes = [point.denominator for point in chart.points]
    # Ends that differ even for a single point, and that leave room beside the outermost marks.
    x = Scale(min(volumes) * 0.85, max(volumes) * 1.18, canvas.left, canvas.plot_right, is_log=True)
    top = upper_end([point.share for point in chart.points], least=chart.network_share * 2 or 0.01)
    y = Scale(0, top, canvas.plot_bottom, canvas.top)
    shown = [limit for limit in chart.limits if x.low <= limit.denominator <= x.high]
    body = level_lines(canvas, y, [(tick, percent(tick)) for tick in round_ticks(0, top)])
    body.append(_limits(shown, canvas, x, y))
    middle = y(chart.network_share)
    body += level([(canvas.left, canvas.plot_right)], middle, "middle")
    for tick in log_ticks(x.low, x.high):
        body.append(text(x(tick), canvas.plot_bottom + 16, count(int(tick)), anchor="middle"))
    body.append(
        text(
            (canvas.left + canvas.plot_right) / 2, canvas.height - 8, chart.across, anchor="middle"
        )
    )
    if canvas.right > LETTER_WIDTH * 10:
        body += _side_labels(chart, shown, canvas, y)
    # The most urgent last, so that none of them lies hidden among a thousand others.
    for point in sorted(chart.points, key=lambda point: -SHAPES.index(point.shape)):
        body.append(mark(point.shape, x(point.denominator), y(point.share), 4.5))
    return body + _names(chart, canvas, x, y)


def _limits(limits: list[FunnelLimit], canvas: Canvas, x: Scale, y: Scale) -> Mark:
    uid = escape(canvas.uid)
    width, height = canvas.plot_right - canvas.left, canvas.plot_bottom - canvas.top
    lines = []
    for field, kind in (
        ("low_outer", "limit"), ("low_inner", "dotted"),
        ("high_inner", "dotted"), ("high_outer", "limit"),
    ):  # fmt: skip
        ends = [(limit.denominator, getattr(limit, field)) for limit in limits]
        lines += path([(x(volume), y(share)) for volume, share in ends], kind)
    clip = (
        f'<clipPath id="{uid}-c"><rect x="{canvas.left}" y="{canvas.top}" width="{width}" '
        f'height="{height}"/></clipPath>'
    )
    inside = f'<g clip-path="url(#{uid}-c)">{joined(lines)}</g>'
    return Mark("", clip + inside, is_path=False)


def _side_labels(chart: Funnel, limits: list[FunnelLimit], canvas: Canvas, y: Scale) -> list[Mark]:
    levels = [(chart.network_share, phrase("funnel.network", share=percent(chart.network_share)))]
    if limits:
        levels.append((limits[-1].high_inner, phrase("funnel.inner")))
        levels.append((limits[-1].high_outer, phrase("funnel.outer")))
    drawn, last = [], canvas.height * 2.0
    for share, label in sorted(levels):
        # From below: a label that would touch the one under it is moved up.
        last = min(y(share) + 4, last - LINE_HEIGHT)
        if share <= y.high:
            drawn.append(text(canvas.plot_right + LABEL_SPACE, last, label))
    return drawn


def _names(chart: Funnel, canvas: Canvas, x: Scale, y: Scale) -> list[Mark]:
    named = sorted(
        (point for point in chart.points if point.is_named),
        key=lambda point: (-point.share, point.name),
    )
    taken: list[tuple[float, float, float]] = []
    drawn = []
    for point in named[:MOST_NAMES]:
        at, width = x(point.denominator), len(point.name) * LETTER_WIDTH
        is_left = at + width + LABEL_SPACE > canvas.plot_right
        start = at - width - LABEL_SPACE if is_left else at + LABEL_SPACE
        down = y(point.share) + 4
        while any(start < end and begin < start + width and abs(down - line) < LINE_HEIGHT
                  for begin, end, line in taken):  # fmt: skip
            down += LINE_HEIGHT
        taken.append((start, start + width, down))
        side = at - LABEL_SPACE if is_left else at + LABEL_SPACE
        drawn.append(text(side, down, point.name, "name", "end" if is_left else "start"))
    return drawn
