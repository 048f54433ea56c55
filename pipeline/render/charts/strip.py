"""A mark for each week of spore tests, on one line."""

from datetime import date, timedelta
from functools import cache

from markupsafe import Markup

from pipeline.render.charts.axes import month_names
from pipeline.render.charts.scale import Scale, day_scale
from pipeline.render.charts.svg import Canvas, Mark, area, dashed, level, path, rect, text
from pipeline.render.charts.whole import symbol, wide_and_narrow

WEEK = timedelta(days=7)
STATES = (
    "on_time", "late", "not_done", "growth", "invalid", "pending", "not_due", "not_in_use",
    "not_seen",
)  # fmt: skip
MIDDLE, GAP = 9.0, 1.0
"""Px: how high the weeks stand, and what lies between two of them."""


def strip(weeks: tuple[tuple[date, str], ...], uid: str, title: str, description: str) -> Markup:
    """The strip for a screen and for a phone; it needs at least one week."""
    wide = Canvas(uid, 1000, 40, 46, 104, 0, 20)
    narrow = Canvas(f"{uid}-narrow", 350, 40, 2, 2, 0, 20)
    return wide_and_narrow(lambda on: _draw(weeks, on), wide, narrow, title, description)


@cache
def sample(state: str) -> Markup:
    """The mark of a state alone, for the legend."""
    return symbol(18, _week(state, Scale(0, 7, 2, 16), 0))


def _draw(weeks: tuple[tuple[date, str], ...], canvas: Canvas) -> list[Mark]:
    first, last = weeks[0][0], weeks[-1][0] + WEEK
    x = day_scale(first, last, canvas.left, canvas.plot_right)
    # State by state, because there may be a thousand strips: what looks alike is one element, and
    # most weeks are on time.
    body = _on_time([on for on, state in weeks if state == "on_time"], x)
    for on, state in sorted(weeks, key=lambda week: week[1]):
        if state != "on_time":
            body += _week(state, x, on.toordinal())
    return body + month_names(canvas, first, last, canvas.height - 6)


def _on_time(weeks: list[date], x: Scale) -> list[Mark]:
    """Weeks one after another as one line, dashed so that each of them is a dash.

    Source: W3C, SVG 2, 13.5.6: the dashes begin anew with each part of a path.
    """
    runs: list[list[int]] = []
    for first_day in (on.toordinal() for on in weeks):
        if runs and runs[-1][1] == first_day:
            runs[-1][1] = first_day + 7
        else:
            runs.append([first_day, first_day + 7])
    drawn = level([(x(begin), x(end) - GAP) for begin, end in runs], MIDDLE, "thick")
    dash = x(7) - x(0) - GAP
    return [dashed(mark, dash, GAP) for mark in drawn]


def _week(state: str, x: Scale, first_day: int) -> list[Mark]:
    begin, end = x(first_day), x(first_day + 7) - GAP
    width, middle = end - begin, (begin + end) / 2
    side = min(width, 11.0)
    left, up = middle - side / 2, MIDDLE - side / 2
    match state:
        case "on_time":
            return level([(begin, end)], MIDDLE, "thick")
        case "late":
            right, down = left + side, up + side
            return [area([(left, down), (right, down), (right, up)], "look")]
        case "not_done":
            return [
                rect(left, up, side, side, "box"),
                *path([(left, up), (left + side, up + side)], "cross"),
                *path([(left, up + side), (left + side, up)], "cross"),
            ]
        case "growth":
            tall = MIDDLE + 3.5
            return [rect(begin, 1, width, 16, "act"), text(middle, tall, "!", "inverse", "middle")]
        case "invalid":
            return [rect(begin, MIDDLE - 4, width, 8, "few")]
        case "pending":
            return [rect(begin + 0.7, MIDDLE - 2.5, width - 1.4, 5, "hollow")]
        case "not_due":
            return level([(begin, end)], MIDDLE, "dash")
        case "not_in_use":
            return level([(middle - 2, middle + 2)], MIDDLE, "dash")
        case _:
            return [text(middle, MIDDLE + 4, "?", "sign", "middle")]
