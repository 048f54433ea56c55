"""Charts that stand in a table cell: the likely rate as a bar, and 52 weeks as a line."""

from typing import NamedTuple

from markupsafe import Markup

from pipeline.render.charts.marks import mark
from pipeline.render.charts.scale import Scale
from pipeline.render.charts.svg import path, unbroken
from pipeline.render.charts.whole import small

BAR_WIDTH, BAR_HEIGHT = 132, 18
LINE_WIDTH, LINE_HEIGHT = 104, 22


class Interval(NamedTuple):
    """A likely share with both ends of its range; `ticks` are what it is compared with."""

    likely: float
    low: float
    high: float
    ticks: tuple[float, ...]
    top: float
    shape: str
    label: str


def interval_bar(bar: Interval) -> Markup:
    """The range as a bar on a scale from 0 to `top`, shared by all rows of a table.

    What lies beyond the top is cut off there: the figures stand beside the bar.
    """
    x = Scale(0, bar.top, 6, BAR_WIDTH - 8)
    middle = BAR_HEIGHT / 2
    at = [x(min(share, bar.top)) for share in (bar.low, bar.likely, bar.high)]
    body = []
    for tick in bar.ticks:
        if tick <= bar.top:
            body += path([(x(tick), 1), (x(tick), BAR_HEIGHT - 1)], "tick")
    body += path([(at[0], middle), (at[2], middle)], "bar")
    body.append(mark(bar.shape, at[1], middle, 4))
    return small(BAR_WIDTH, BAR_HEIGHT, bar.label, body)


def sparkline(shares: tuple[float | None, ...], label: str) -> Markup:
    """Weeks as a line, with a gap where nothing ran; the last week that ran carries the mark."""
    seen = [share for share in shares if share is not None]
    if not seen:
        return Markup("")
    x = Scale(0, max(len(shares) - 1, 1), 3, LINE_WIDTH - 7)
    y = Scale(0, max([*seen, 0.02]), LINE_HEIGHT - 4, 4)
    points = [(x(week), None if share is None else y(share)) for week, share in enumerate(shares)]
    body = []
    for run in unbroken(points):
        lone = [(run[0][0] - 0.7, run[0][1]), (run[0][0] + 0.7, run[0][1])]
        body += path(run if len(run) > 1 else lone, "line")
    last_x, last_y = next((at, value) for at, value in reversed(points) if value is not None)
    body.append(mark("usual", last_x, last_y, 3.4))
    return small(LINE_WIDTH, LINE_HEIGHT, label, body)
