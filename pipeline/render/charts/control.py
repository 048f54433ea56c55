"""Control chart: the share of cycles stopped in each 4 weeks against the unit's own limit."""

from dataclasses import dataclass
from datetime import date, timedelta

from markupsafe import Markup

from pipeline.base.phrases import phrase
from pipeline.render.charts.axes import LABEL_GAP, level_lines, month_names
from pipeline.render.charts.marks import mark
from pipeline.render.charts.scale import Scale, day_scale, round_ticks, upper_end
from pipeline.render.charts.svg import (
    Canvas,
    Mark,
    path,
    text,
    unbroken,
    wide_and_narrow,
)
from pipeline.render.words import percent

PERIOD = timedelta(days=28)


@dataclass(frozen=True)
class Period:
    """Four weeks from period_on; shares are None where nothing ran or nothing is usual yet."""

    period_on: date
    share: float | None
    usual: float | None
    limit: float | None
    is_above: bool


def control(periods: tuple[Period, ...], uid: str, title: str, description: str) -> Markup:
    """The chart for a screen and for a phone; it needs at least one period in which cycles ran."""
    wide = Canvas(f"{uid}-wide", 1000, 230, 46, 104, 14, 30)
    narrow = Canvas(f"{uid}-narrow", 350, 230, 46, 10, 14, 30)
    return wide_and_narrow(lambda on: _draw(periods, on), wide, narrow, title, description)


def _draw(periods: tuple[Period, ...], canvas: Canvas) -> list[Mark]:
    first, last = periods[0].period_on, periods[-1].period_on + PERIOD
    x = day_scale(first, last, canvas.left, canvas.plot_right)
    shares = [
        share for period in periods for share in (period.share, period.limit) if share is not None
    ]
    top = upper_end(shares, least=0.02)
    y = Scale(0, top, canvas.plot_bottom, canvas.top)
    body = level_lines(canvas, y, [(tick, percent(tick)) for tick in round_ticks(0, top)])
    body += month_names(canvas, x, first, last, canvas.plot_bottom + 18)
    for kind, levels in (
        ("limit", [p.limit for p in periods]),
        ("middle", [p.usual for p in periods]),
    ):
        for run in _steps([p.period_on for p in periods], levels, x, y):
            body += path(run, kind)
    half = PERIOD.days / 2
    points = [
        (x(p.period_on.toordinal() + half), None if p.share is None else y(p.share))
        for p in periods
    ]
    for run in unbroken(points):
        body += path(run, "line")
    for is_above, shape in ((False, "usual"), (True, "act_now")):
        body += [
            mark(shape, at, value, 4.5)
            for period, (at, value) in zip(periods, points, strict=True)
            if value is not None and period.is_above == is_above
        ]
    if canvas.right > canvas.left:
        body += _side_labels(periods[-1], canvas, y)
    return body


def _steps(
    days: list[date], levels: list[float | None], x: Scale, y: Scale
) -> list[list[tuple[float, float]]]:
    """A level for each period as a stepped line, broken where there is none."""
    corners: list[tuple[float, float | None]] = []
    for on, share in zip(days, levels, strict=True):
        height = None if share is None else y(share)
        end = (x((on + PERIOD).toordinal()), height)
        if corners and corners[-1] == (x(on.toordinal()), height):
            corners[-1] = end
        else:
            corners += [(x(on.toordinal()), height), end]
    return unbroken(corners)


def _side_labels(last: Period, canvas: Canvas, y: Scale) -> list[Mark]:
    labels = []
    at = canvas.plot_right + LABEL_GAP
    if last.usual is not None:
        labels.append(
            text(at, y(last.usual) + 4, phrase("control.usual", share=percent(last.usual)))
        )
    if last.limit is not None:
        # The two lines can nearly meet where a unit runs a great deal; their labels must not.
        up = y(last.limit) + 4
        if last.usual is not None:
            up = min(up, y(last.usual) + 4 - 13)
        labels.append(text(at, up, phrase("control.limit")))
    return labels
