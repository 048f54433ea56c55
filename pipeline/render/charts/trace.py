"""One cycle as logged: chamber temperature above, chamber pressure below, over its minutes.

In the upper half stand the band that the program asks for, and the temperature that saturated steam
would have at the logged pressure; thin lines mark where the phases begin.
"""

from dataclasses import dataclass
from statistics import median

from markupsafe import Markup

from pipeline.base.phrases import phrase
from pipeline.physics.steam import saturation_celsius
from pipeline.render.charts.axes import LABEL_GAP, level_lines
from pipeline.render.charts.scale import Scale, round_ticks
from pipeline.render.charts.svg import Canvas, path, picture, rect, text, wide_and_narrow
from pipeline.render.words import decimal

POINT_EVERY_PX = 4
"""A line has no more points than this leaves; more cannot be told apart on a page."""
GAP_FACTOR = 5
"""A pause this many times the usual pace of the log is drawn as a gap."""
LABEL_WIDTH = 62
"""Px that the name of a phase takes; where the next begins nearer, only the line is drawn."""

Samples = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Trace:
    """Samples as (seconds, value), °C and kPa absolute; set_celsius is what was asked for.

    `band` is what the program asks for in the hold; its upper end is None for no upper edge.
    `phases` are the names of phases and the seconds at which they begin, in order.
    """

    celsius: Samples
    kpa: Samples
    set_celsius: float | None
    title: str
    description: str
    band: tuple[float, float | None] | None = None
    phases: tuple[tuple[str, float], ...] = ()


def trace(cycle: Trace, uid: str) -> Markup:
    """The cycle for a screen and for a phone; it needs samples of one of the two values."""
    wide = Canvas(f"{uid}-wide", 1000, 352, 46, 116, 36, 42)
    narrow = Canvas(f"{uid}-narrow", 350, 322, 40, 10, 36, 42)
    return wide_and_narrow(_draw(cycle, wide), _draw(cycle, narrow))


def theoretical(kpa: Samples) -> Samples:
    """The temperature of saturated steam at each pressure, where there is one."""
    celsius = saturation_celsius([value for _, value in kpa])
    pairs = zip(kpa, celsius.tolist(), strict=True)
    return tuple((second, hot) for (second, _), hot in pairs if hot == hot)


def _draw(cycle: Trace, canvas: Canvas) -> Markup:
    logged = [samples for samples in (cycle.celsius, cycle.kpa) if samples]
    first = min(0.0, *(samples[0][0] for samples in logged))
    last = max(60.0, *(samples[-1][0] for samples in logged))
    x = Scale(first, last, canvas.left, canvas.plot_right)
    height = canvas.plot_bottom - canvas.top
    split = canvas.top + height * 0.54
    body = _phases(cycle, canvas, x)
    if cycle.celsius:
        body += _temperatures(cycle, canvas, x, split)
    if cycle.kpa:
        ends = (canvas.plot_bottom, split + height * 0.16)
        body += _curve(cycle.kpa, canvas, x, _range(cycle.kpa, ends), "second")
        body.append(text(canvas.left, ends[1] - LABEL_GAP, phrase("trace.kpa"), "name"))
    for tick in round_ticks(first / 60, last / 60, 8):
        body.append(text(x(tick * 60), canvas.plot_bottom + 16, decimal(tick, 0), anchor="middle"))
    middle = (canvas.left + canvas.plot_right) / 2
    body.append(text(middle, canvas.height - 6, phrase("trace.minutes"), anchor="middle"))
    return picture(canvas, cycle.title, cycle.description, body)


def _temperatures(cycle: Trace, canvas: Canvas, x: Scale, split: float) -> list[str]:
    """The band, the theoretical temperature, what was asked for and what was measured."""
    y = _range(cycle.celsius, (split, canvas.top))
    body = _band(cycle, canvas, y)
    # While air is in the chamber the two differ anyway, so the axis is the measured one's.
    steam = tuple((s, v) for s, v in theoretical(cycle.kpa) if y.low <= v <= y.high)
    body += [path([(x(s), y(v)) for s, v in run], "dotted") for run in _runs(steam, canvas.width)]
    body += _curve(cycle.celsius, canvas, x, y, "line")
    body.append(text(canvas.left, canvas.top - LABEL_GAP, phrase("trace.celsius"), "name"))
    wanted = cycle.set_celsius
    if wanted is None or not y.low <= wanted <= y.high:
        return body
    body.append(path([(canvas.left, y(wanted)), (canvas.plot_right, y(wanted))], "dash"))
    if canvas.right > LABEL_GAP * 3:
        words = phrase("trace.asked", celsius=decimal(wanted, 0))
        body.append(text(canvas.plot_right + LABEL_GAP, y(wanted) + 4, words))
    return body


def _band(cycle: Trace, canvas: Canvas, y: Scale) -> list[str]:
    if cycle.band is None or not y.low <= cycle.band[0] <= y.high:
        return []
    low, high = cycle.band
    top = y.high if high is None else min(high, y.high)
    span = canvas.plot_right - canvas.left
    return [rect(canvas.left, y(top), span, max(y(low) - y(top), 1), "band")]


def _phases(cycle: Trace, canvas: Canvas, x: Scale) -> list[str]:
    """A line where each phase begins, named where there is room for the name."""
    body = []
    ends = [*(at for _, at in cycle.phases), x.high][1:]
    for (name, at), end in zip(cycle.phases, ends, strict=True):
        body.append(path([(x(at), canvas.top - 2), (x(at), canvas.plot_bottom)], "grid"))
        if x(end) - x(at) >= LABEL_WIDTH:
            body.append(text(x(at) + 3, canvas.top - 22, name))
    return body


def _range(samples: Samples, ends: tuple[float, float]) -> Scale:
    values = [value for _, value in samples]
    low, high = min(values), max(values)
    return Scale(low, high if high > low else low + 1, *ends)


def _curve(samples: Samples, canvas: Canvas, x: Scale, y: Scale, kind: str) -> list[str]:
    ticks = [(tick, decimal(tick, 0)) for tick in round_ticks(y.low, y.high, 4)]
    drawn = level_lines(canvas, y, ticks)
    return drawn + [
        path([(x(s), y(v)) for s, v in run], kind) for run in _runs(samples, canvas.width)
    ]


def _runs(samples: Samples, width: int) -> list[Samples]:
    """The samples between pauses of the log, each thinned to what can be drawn."""
    if len(samples) < 2:
        return []
    paces = [after[0] - before[0] for before, after in zip(samples, samples[1:], strict=False)]
    usual = median(paces)
    runs, begin = [], 0
    for place, pace in enumerate(paces, start=1):
        if usual > 0 and pace > GAP_FACTOR * usual:
            runs.append(samples[begin:place])
            begin = place
    most = width // POINT_EVERY_PX
    return [thinned(run, most) for run in [*runs, samples[begin:]]]


def thinned(samples: Samples, most: int) -> Samples:
    """At most so many samples that keep every peak: the least and greatest of each stretch."""
    if len(samples) <= most:
        return samples
    stretch = -(-len(samples) // (most // 2 - 1))
    kept = {samples[0], samples[-1]}
    for begin in range(0, len(samples), stretch):
        part = samples[begin : begin + stretch]
        kept.add(min(part, key=lambda sample: sample[1]))
        kept.add(max(part, key=lambda sample: sample[1]))
    return tuple(sorted(kept))
