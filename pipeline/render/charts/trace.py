"""One cycle as logged: chamber temperature above, chamber pressure below, over its minutes."""

from dataclasses import dataclass
from statistics import median

from markupsafe import Markup

from pipeline.base.phrases import phrase
from pipeline.render.charts.axes import LABEL_GAP, level_lines
from pipeline.render.charts.scale import Scale, round_ticks
from pipeline.render.charts.svg import Canvas, path, picture, text, wide_and_narrow
from pipeline.render.words import decimal

MOST_POINTS = 300
"""Points drawn of a line; more cannot be told apart on a page."""
GAP_FACTOR = 5
"""A pause this many times the usual pace of the log is drawn as a gap."""

Samples = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Trace:
    """Samples as (seconds, value), °C and kPa absolute; set_celsius is what was asked for."""

    celsius: Samples
    kpa: Samples
    set_celsius: float | None
    title: str
    description: str


def trace(cycle: Trace, uid: str) -> Markup:
    """The cycle for a screen and for a phone; it needs samples of one of the two values."""
    wide = Canvas(f"{uid}-wide", 1000, 340, 46, 104, 24, 42)
    narrow = Canvas(f"{uid}-narrow", 350, 310, 40, 10, 24, 42)
    return wide_and_narrow(_draw(cycle, wide), _draw(cycle, narrow))


def _draw(cycle: Trace, canvas: Canvas) -> Markup:
    logged = [samples for samples in (cycle.celsius, cycle.kpa) if samples]
    first = min(0.0, *(samples[0][0] for samples in logged))
    last = max(60.0, *(samples[-1][0] for samples in logged))
    x = Scale(first, last, canvas.left, canvas.plot_right)
    height = canvas.plot_bottom - canvas.top
    split = canvas.top + height * 0.54
    body: list[str] = []
    if cycle.celsius:
        body += _curve(
            cycle.celsius, canvas, x, (split, canvas.top), "line", phrase("trace.celsius")
        )
        if cycle.set_celsius is not None:
            body += _asked(cycle, canvas, x, split)
    if cycle.kpa:
        body += _curve(
            cycle.kpa,
            canvas,
            x,
            (canvas.plot_bottom, split + height * 0.16),
            "second",
            phrase("trace.kpa"),
        )
    for tick in round_ticks(first / 60, last / 60, 8):
        body.append(text(x(tick * 60), canvas.plot_bottom + 16, decimal(tick, 0), anchor="middle"))
    middle = (canvas.left + canvas.plot_right) / 2
    body.append(text(middle, canvas.height - 6, phrase("trace.minutes"), anchor="middle"))
    return picture(canvas, cycle.title, cycle.description, body)


def _range(samples: Samples, ends: tuple[float, float]) -> Scale:
    values = [value for _, value in samples]
    low, high = min(values), max(values)
    return Scale(low, high if high > low else low + 1, *ends)


def _curve(
    samples: Samples, canvas: Canvas, x: Scale, ends: tuple[float, float], kind: str, label: str
) -> list[str]:
    y = _range(samples, ends)
    ticks = [(tick, decimal(tick, 0)) for tick in round_ticks(y.low, y.high, 4)]
    drawn = level_lines(canvas, y, ticks)
    drawn += [path([(x(s), y(v)) for s, v in run], kind) for run in _runs(samples)]
    drawn.append(text(canvas.left, ends[1] - LABEL_GAP, label, "name"))
    return drawn


def _asked(cycle: Trace, canvas: Canvas, x: Scale, split: float) -> list[str]:
    """A dotted line at the set temperature, when it lies within what was logged."""
    y = _range(cycle.celsius, (split, canvas.top))
    wanted = cycle.set_celsius
    if wanted is None or not y.low <= wanted <= y.high:
        return []
    line = path([(canvas.left, y(wanted)), (canvas.plot_right, y(wanted))], "dotted")
    if canvas.right <= LABEL_GAP * 3:
        return [line]
    words = phrase("trace.asked", celsius=decimal(wanted, 0))
    return [line, text(canvas.plot_right + LABEL_GAP, y(wanted) + 4, words)]


def _runs(samples: Samples) -> list[Samples]:
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
    return [thinned(run) for run in [*runs, samples[begin:]]]


def thinned(samples: Samples) -> Samples:
    """At most MOST_POINTS samples that keep every peak: the least and greatest of each stretch."""
    if len(samples) <= MOST_POINTS:
        return samples
    stretch = -(-len(samples) // (MOST_POINTS // 2 - 1))
    kept = {samples[0], samples[-1]}
    for begin in range(0, len(samples), stretch):
        part = samples[begin : begin + stretch]
        kept.add(min(part, key=lambda sample: sample[1]))
        kept.add(max(part, key=lambda sample: sample[1]))
    return tuple(sorted(kept))
