"""Grid lines and labels shared by the large charts."""

from datetime import date
from functools import lru_cache

from pipeline.base.language import language
from pipeline.base.language import month_names as names_of_months
from pipeline.render.charts.scale import Scale, day_scale, month_starts
from pipeline.render.charts.svg import Canvas, Mark, level, text

LABEL_GAP = 6
NARROW_BELOW = 500
"""Px; a chart narrower than this names every third month only."""


def level_lines(canvas: Canvas, y: Scale, labels: list[tuple[float, str]]) -> list[Mark]:
    """A faint line across the plot at each value, its label on the left."""
    drawn = []
    for value, _ in labels:
        drawn += level([(canvas.left, canvas.plot_right)], y(value), "grid")
    return drawn + level_labels(canvas, y, labels)


def level_labels(canvas: Canvas, y: Scale, labels: list[tuple[float, str]]) -> list[Mark]:
    """The label of each value, left of the plot."""
    left = canvas.left - LABEL_GAP
    return [text(left, y(value) + 4, label, anchor="end") for value, label in labels]


def month_names(canvas: Canvas, first: date, last: date, y: float) -> list[Mark]:
    """The months along the time axis, each name at the month's first day."""
    return list(_month_names(language(), canvas, first, last, y))


# Under the charts of one kind they are the same on every page.
@lru_cache(maxsize=256)
def _month_names(
    spoken: str, canvas: Canvas, first: date, last: date, y: float
) -> tuple[Mark, ...]:
    x = day_scale(first, last, canvas.left, canvas.plot_right)
    every = 3 if canvas.width < NARROW_BELOW else 1
    starts = month_starts(first, last)[::every]
    fits = [day for day in starts if x(day.toordinal()) <= canvas.plot_right - 18]
    names = names_of_months()
    return tuple(text(x(day.toordinal()), y, names[day.month - 1]) for day in fits)
