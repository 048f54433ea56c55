"""Control chart: the share of cycles stopped in each 4 weeks against the unit's own limit."""

from datetime import date, timedelta
from typing import NamedTuple

from markupsafe import Markup

from pipeline.base.phrases import phrase
from pipeline.render.charts.axes import LABEL_GAP, level_labels, month_names
from pipeline.render.charts.marks import mark
from pipeline.render.charts.scale import Scale, day_scale, round_ticks, upper_end
from pipeline.render.charts.svg import Canvas, Mark, MaybePoint, level, path, text, unbroken
from pipeline.render.charts.whole import plot, stretched, wide_and_narrow
from pipeline.render.words import percent

PERIOD = timedelta(days=28)


class Period(NamedTuple):
    """Four weeks from period_on; shares are None where nothing ran or nothing is usual yet."""

    period_on: date
    share: float | None
    usual: float | None
    limit: float | None
    is_above: bool


def control(periods: tuple[Period, ...], uid: str, title: str, description: str) -> Markup:
    """The chart for a screen and for a phone; it needs at least one period in which cycles ran."""
    wide = Canvas(uid, 1000, 230, 46, 104, 14, 30)
    narrow = Canvas(f"{uid}-narrow", 350, 230, 46, 10, 14, 30)

    def draw(on: Canvas) -> list[Mark]:
        x, y = _axes(periods, on)
        points = _points(periods, x, y)
        drawn = (
            plot(f"{uid}-plot", _lines(periods, points, on, x, y))
            if on is wide
            else stretched(f"{uid}-plot", wide, on)
        )
        return [drawn, *_marks(periods, points), *_words(periods, on, y)]

    return wide_and_narrow(draw, wide, narrow, title, description)


def _axes(periods: tuple[Period, ...], canvas: Canvas) -> tuple[Scale, Scale]:
    first, last = periods[0].period_on, periods[-1].period_on + PERIOD
    shares = [
        share for period in periods for share in (period.share, period.limit) if share is not None
    ]
    top = upper_end(shares, least=0.02)
    across = day_scale(first, last, canvas.left, canvas.plot_right)
    return across, Scale(0, top, canvas.plot_bottom, canvas.top)


def _points(periods: tuple[Period, ...], x: Scale, y: Scale) -> list[MaybePoint]:
    """The middle of each period, at the height of its share."""
    half = PERIOD.days / 2
    return [
        (x(p.period_on.toordinal() + half), None if p.share is None else y(p.share))
        for p in periods
    ]


def _lines(
    periods: tuple[Period, ...], points: list[MaybePoint], canvas: Canvas, x: Scale, y: Scale
) -> list[Mark]:
    """What the phone has too, only closer together."""
    body = []
    for tick in round_ticks(0, y.high):
        body += level([(canvas.left, canvas.plot_right)], y(tick), "grid")
    for kind, levels in (
        ("limit", [p.limit for p in periods]),
        ("middle", [p.usual for p in periods]),
    ):
        for run in _steps([p.period_on for p in periods], levels, x, y):
            body += path(run, kind)
    for run in unbroken(points):
        body += path(run, "line")
    return body


def _marks(periods: tuple[Period, ...], points: list[MaybePoint]) -> list[Mark]:
    """The shape of each period, those above the limit last."""
    return [
        mark(shape, at, value, 4.5)
        for is_above, shape in ((False, "usual"), (True, "act_now"))
        for period, (at, value) in zip(periods, points, strict=True)
        if value is not None and period.is_above == is_above
    ]


def _words(periods: tuple[Period, ...], canvas: Canvas, y: Scale) -> list[Mark]:
    words = level_labels(canvas, y, [(tick, percent(tick)) for tick in round_ticks(0, y.high)])
    first, last = periods[0].period_on, periods[-1].period_on + PERIOD
    words += month_names(canvas, first, last, canvas.plot_bottom + 18)
    if canvas.right > canvas.left:
        words += _side_labels(periods[-1], canvas, y)
    return words


def _steps(
    days: list[date], levels: list[float | None], x: Scale, y: Scale
) -> list[list[tuple[float, float]]]:
    """A level for each period as a stepped line, broken where there is none."""
    corners: list[MaybePoint] = []
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
