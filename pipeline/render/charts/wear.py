"""Small panels of one measured value week by week, over the range that the unit itself kept to."""

from datetime import date
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from markupsafe import Markup

from pipeline.render.charts.marks import mark
from pipeline.render.charts.scale import Scale
from pipeline.render.charts.svg import Canvas, Mark, line, rect, text
from pipeline.render.charts.whole import small

WIDTH, HEIGHT = 260, 104
WEEK_DAYS = 7


class Wear(NamedTuple):
    """One feature of one program: weekly middle values, and the baseline range where it is known.

    `lowest`, `highest` and `latest` are the figures to print, in the feature's unit of measure.
    """

    weeks: tuple[tuple[date, float], ...]
    baseline: tuple[float, float] | None
    shape: str
    lowest: str
    highest: str
    latest: str
    title: str
    description: str


def wear(panel: Wear) -> Markup:
    """The panel; a week without a value is a gap. It needs at least one week."""
    # As wide as 52 steps of 4 px, from week to week of a year: whole steps make the line shorter.
    canvas = Canvas("", WIDTH, HEIGHT, 44, 8, 10, 22)
    values = [value for _, value in panel.weeks]
    low, high = min([*values, *(panel.baseline or ())]), max([*values, *(panel.baseline or ())])
    # A value that never moves still needs an axis with two ends.
    pad = (high - low) * 0.06 or abs(high) * 0.05 or 1.0
    y = Scale(low - pad, high + pad, canvas.plot_bottom, canvas.top)
    first, last = panel.weeks[0][0].toordinal(), panel.weeks[-1][0].toordinal()
    x = Scale(first, max(last, first + WEEK_DAYS), canvas.left, canvas.plot_right)
    body = []
    if panel.baseline:
        base, ceiling = panel.baseline
        span = canvas.plot_right - canvas.left
        body.append(rect(canvas.left, y(ceiling), span, max(y(base) - y(ceiling), 1), "band"))
    body.append(text(canvas.left - 5, canvas.top + 8, panel.highest, anchor="end"))
    if panel.lowest != panel.highest:
        body.append(text(canvas.left - 5, canvas.plot_bottom, panel.lowest, anchor="end"))
    body += _line(panel.weeks, x, y)
    end = panel.weeks[-1]
    body.append(mark(panel.shape, x(end[0].toordinal()), y(end[1]), 4))
    body.append(text(canvas.plot_right, HEIGHT - 4, panel.latest, "name", "end"))
    return small(WIDTH, HEIGHT, f"{panel.title}. {panel.description}", body)


def _line(weeks: tuple[tuple[date, float], ...], x: Scale, y: Scale) -> list[Mark]:
    days = np.array([on.toordinal() for on, _ in weeks])
    # To whole px: of the height, that is less than a hundredth, and it keeps the line short.
    across, heights = x.places(days), np.rint(y.places([value for _, value in weeks]))
    gaps = np.flatnonzero(days[1:] - days[:-1] > WEEK_DAYS) + 1
    ends = [0, *gaps.tolist(), len(days)]
    return [
        line(across[begin:end], heights[begin:end], "line")
        for begin, end in pairwise(ends)
        if end - begin > 1
    ]
