"""One cycle as logged: chamber temperature above, chamber pressure below, over its minutes.

In the upper half stand the band that the program asks for, and the temperature that saturated steam
would have at the logged pressure; thin lines mark where the phases begin.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from markupsafe import Markup

from pipeline.base.phrases import phrase
from pipeline.physics.steam import saturation_celsius
from pipeline.render.charts.axes import LABEL_GAP, level_labels
from pipeline.render.charts.curve import Run, outline, runs
from pipeline.render.charts.scale import Scale, round_ticks
from pipeline.render.charts.svg import Canvas, Floats, Mark, level, line, path, rect, text
from pipeline.render.charts.whole import plot, stretched, wide_and_narrow
from pipeline.render.words import decimal

TOLERANCE_PX = 0.5
"""How far a line may pass from a sample that it leaves out; as much again is lost to whole px."""
POINT_EVERY_PX = 4
"""A line has no more points than this leaves; more cannot be told apart on a page."""
LABEL_WIDTH = 62
"""Px that the name of a phase takes; where the next begins nearer, only the line is drawn."""


@dataclass(frozen=True, eq=False)
class Trace:
    """Samples in order of time, °C and kPa absolute; not a number where a value was not logged.

    `set_celsius` is what was asked for, `band` what the program asks for in the hold; its upper end
    is None for no upper edge. `phases` are the names of phases and the seconds at which they begin,
    in order.
    """

    seconds: Floats
    celsius: Floats
    kpa: Floats
    set_celsius: float | None
    title: str
    description: str
    band: tuple[float, float | None] | None = None
    phases: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class _Curve:
    """What is drawn of one measured value: its runs, and both ends of its axis."""

    runs: list[Run]
    low: float
    high: float

    @cached_property
    def labels(self) -> list[tuple[float, str]]:
        """The figures along the axis."""
        return [(tick, decimal(tick, 0)) for tick in round_ticks(self.low, self.high, 4)]


def trace(cycle: Trace, uid: str) -> Markup:
    """The cycle for a screen and for a phone; it needs two samples, and one of the two values."""
    wide = Canvas(uid, 1000, 352, 46, 116, 36, 42)
    narrow = Canvas(f"{uid}-narrow", 350, 322, 40, 10, 36, 42)
    first, last = cycle.seconds[[0, -1]].tolist()
    span = (min(0.0, first), max(60.0, last))
    curves = _curves(cycle, wide)

    def draw(on: Canvas) -> list[Mark]:
        x, axes = Scale(*span, on.left, on.plot_right), _axes(curves, on)
        drawn = (
            plot(f"{uid}-plot", _lines(cycle, curves, on, x, axes))
            if on is wide
            else stretched(f"{uid}-plot", wide, on)
        )
        return [drawn, *_words(cycle, curves, on, x, axes)]

    return wide_and_narrow(draw, wide, narrow, cycle.title, cycle.description)


def _curves(cycle: Trace, canvas: Canvas) -> dict[str, _Curve]:
    """The measured values, thinned once for both drawings, and the theoretical temperature."""
    each_px = 2 / (canvas.plot_bottom - canvas.top)

    def curve(values: Floats, low: float, high: float) -> _Curve:
        return _Curve(runs(cycle.seconds, values, TOLERANCE_PX * (high - low) * each_px), low, high)

    found = {}
    for name, values in (("celsius", cycle.celsius), ("kpa", cycle.kpa)):
        logged = values[~np.isnan(values)]
        if len(logged):
            low, high = float(logged.min()), float(logged.max())
            # A value that never moves still needs an axis with two ends.
            found[name] = curve(values, low, high if high > low else low + 1)
    if len(found) == 2:
        # While air is in the chamber the two differ anyway, so the axis is the measured one's.
        low, high = found["celsius"].low, found["celsius"].high
        steam = saturation_celsius(cycle.kpa)
        steam[(steam < low) | (steam > high)] = np.nan
        found["steam"] = curve(steam, low, high)
    return found


def _halves(canvas: Canvas) -> tuple[float, float]:
    """Where the plot of the temperatures ends, and where that of the pressures begins, in px."""
    height = canvas.plot_bottom - canvas.top
    split = canvas.top + height * 0.54
    return split, split + height * 0.16


def _axes(curves: dict[str, _Curve], canvas: Canvas) -> dict[str, Scale]:
    """The axes of temperature and pressure, as far as they were logged."""
    split, top = _halves(canvas)
    ends = {"celsius": (split, canvas.top), "kpa": (canvas.plot_bottom, top)}
    return {
        name: Scale(curves[name].low, curves[name].high, *ends[name])
        for name in ends
        if name in curves
    }


def _lines(
    cycle: Trace, curves: dict[str, _Curve], canvas: Canvas, x: Scale, axes: dict[str, Scale]
) -> list[Mark]:
    """All that is drawn but the words: the phone has the same lines, only closer together."""
    across = [(canvas.left, canvas.plot_right)]
    drawn = []
    for _, at in cycle.phases:
        drawn += path([(x(at), canvas.top - 2), (x(at), canvas.plot_bottom)], "grid")
    for name, y in axes.items():
        for tick, _ in curves[name].labels:
            drawn += level(across, y(tick), "grid")
    if "celsius" in axes:
        y = axes["celsius"]
        drawn += _band(cycle, canvas, y)
        if "steam" in curves:
            drawn += _drawn(curves["steam"], canvas, x, y, "dotted")
        drawn += _drawn(curves["celsius"], canvas, x, y, "line")
        drawn += [mark for asked in _asked(cycle, y) for mark in level(across, y(asked), "dash")]
    if "kpa" in axes:
        drawn += _drawn(curves["kpa"], canvas, x, axes["kpa"], "second")
    return drawn


def _words(
    cycle: Trace, curves: dict[str, _Curve], canvas: Canvas, x: Scale, axes: dict[str, Scale]
) -> list[Mark]:
    """The names of phases where there is room for them, and the figures along the axes."""
    words, names = _phases(cycle, canvas, x), []
    titles = {"celsius": phrase("trace.celsius"), "kpa": phrase("trace.kpa")}
    for name, y in axes.items():
        words += level_labels(canvas, y, curves[name].labels)
        names.append(text(canvas.left, y.end - LABEL_GAP, titles[name], "name"))
    if "celsius" in axes and canvas.right > LABEL_GAP * 3:
        for asked in _asked(cycle, axes["celsius"]):
            told = phrase("trace.asked", celsius=decimal(asked, 0))
            beside = axes["celsius"](asked) + 4
            words.append(text(canvas.plot_right + LABEL_GAP, beside, told))
    for tick in round_ticks(x.low / 60, x.high / 60, 8):
        at = x(tick * 60)
        words.append(text(at, canvas.plot_bottom + 16, decimal(tick, 0), anchor="middle"))
    middle = (canvas.left + canvas.plot_right) / 2
    words.append(text(middle, canvas.height - 6, phrase("trace.minutes"), anchor="middle"))
    return words + names


def _asked(cycle: Trace, y: Scale) -> list[float]:
    """The set temperature, where there is one within the plot."""
    wanted = cycle.set_celsius
    return [] if wanted is None or not y.low <= wanted <= y.high else [wanted]


def _band(cycle: Trace, canvas: Canvas, y: Scale) -> list[Mark]:
    if cycle.band is None or not y.low <= cycle.band[0] <= y.high:
        return []
    low, high = cycle.band
    top = y.high if high is None else min(high, y.high)
    span = canvas.plot_right - canvas.left
    return [rect(canvas.left, y(top), span, max(y(low) - y(top), 1), "band")]


def _phases(cycle: Trace, canvas: Canvas, x: Scale) -> list[Mark]:
    """The names of the phases that are wide enough for a name."""
    ends = [*(at for _, at in cycle.phases), x.high][1:]
    return [
        text(x(at) + 3, canvas.top - 22, name)
        for (name, at), end in zip(cycle.phases, ends, strict=True)
        if x(end) - x(at) >= LABEL_WIDTH
    ]


def _drawn(curve: _Curve, canvas: Canvas, x: Scale, y: Scale, kind: str) -> list[Mark]:
    shown = (outline(run, canvas.width // POINT_EVERY_PX) for run in curve.runs)
    return [
        line(np.rint(x.places(seconds)), np.rint(y.places(values)), kind)
        for seconds, values in shown
    ]
