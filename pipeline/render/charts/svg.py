"""The elements that charts are made of. Only this folder wraps text as Markup.

Each mark carries presentation attributes beside its class: style.css overrides them on a page
(dark mode, print), and they alone serve where a style sheet does not reach inside a picture.
Everything is rounded to 0.1 px, so the same values give the same bytes on every machine.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

Point = tuple[float, float]

INK, MUTED, RULE, BLUE, ACT, LOOK, BAND, BROWN = (
    "#16212b", "#4d5963", "#d9d9d2", "#3b82a0", "#9b1b45", "#e39a1f", "#dbe8ec", "#8a5410",
)  # fmt: skip
"""The light palette; a test compares it with style.css."""

LINES = {
    "line": f'class="line" fill="none" stroke="{BLUE}" stroke-width="1.4"',
    "second": f'class="second" fill="none" stroke="{BROWN}" stroke-width="1.4"',
    "limit": f'class="limit" fill="none" stroke="{MUTED}" stroke-width="1"',
    "dotted": f'class="limit" fill="none" stroke="{MUTED}" stroke-width="1" stroke-dasharray="2 3"',
    "middle": f'class="limit" fill="none" stroke="{MUTED}" stroke-width="1.6"',
    "grid": f'class="grid" fill="none" stroke="{RULE}" stroke-width="1"',
    "bar": f'class="bar" fill="none" stroke="{MUTED}" stroke-width="2"',
    "tick": f'class="tick" fill="none" stroke="{INK}" stroke-width="1"',
    "dash": f'class="limit" fill="none" stroke="{MUTED}" stroke-width="1.4"',
    "cross": f'class="cross" fill="none" stroke="{ACT}" stroke-width="1.4"',
}
FILLS = {
    "band": f'class="band" fill="{BAND}"',
    "solid": f'class="solid" fill="{BLUE}"',
    "act": f'class="act-fill" fill="{ACT}"',
    "look": f'class="look-fill" fill="{LOOK}" stroke="#7d4a00" stroke-width="1"',
    "hollow": f'class="hollow" fill="#fdfdfb" stroke="{BLUE}" stroke-width="1.4"',
    "box": f'class="cross" fill="none" stroke="{ACT}" stroke-width="1.4"',
    "few": f'class="few" fill="none" stroke="{MUTED}" stroke-width="1.4" stroke-dasharray="2 2"',
}
TEXTS = {
    "label": f'class="label" fill="{MUTED}" font-size="11"',
    "name": f'class="name" fill="{INK}" font-size="11" font-weight="600"',
    "inverse": 'class="inverse" fill="#ffffff" font-size="10" font-weight="700"',
}


@dataclass(frozen=True)
class Canvas:
    """Outer size and inner plot of a chart, in px; `uid` is unique on its page."""

    uid: str
    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int

    @property
    def plot_right(self) -> int:
        """Where the plot ends on the right."""
        return self.width - self.right

    @property
    def plot_bottom(self) -> int:
        """Where the plot ends below."""
        return self.height - self.bottom


def px(value: float) -> str:
    """A length rounded to 0.1 px."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def picture(canvas: Canvas, title: str, description: str, body: Iterable[str]) -> Markup:
    """A whole chart, named and described for those who cannot see it."""
    uid = escape(canvas.uid)
    return Markup(
        f'<svg class="chart" viewBox="0 0 {canvas.width} {canvas.height}" '
        f'width="{canvas.width}" height="{canvas.height}" role="img" '
        f'aria-labelledby="{uid}-t {uid}-d"><title id="{uid}-t">{escape(title)}</title>'
        f'<desc id="{uid}-d">{escape(description)}</desc>{"".join(body)}</svg>'
    )


def small(width: int, height: int, label: str, body: Iterable[str]) -> Markup:
    """A chart inside a table cell, with a label and no ids."""
    return Markup(
        f'<svg class="chart" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img" aria-label="{escape(label)}">{"".join(body)}</svg>'
    )


def path(points: Sequence[Point], kind: str) -> str:
    """A line through the points; a single point leaves nothing to draw."""
    if len(points) < 2:
        return ""
    # Steps from point to point, in tenths of a px so that no rounding adds up: half as long as
    # places. One format for all numbers, because most of the time of a page goes into them.
    tenths = [round(length * 10) for point in points for length in point]
    flat = tuple((to - begin) / 10 for begin, to in zip(tenths, tenths[2:], strict=False))
    steps = ("%.1f " * len(flat) % flat).replace(".0 ", " ").replace("-0.", "-.")
    steps = f" {steps}".replace(" 0.", " .").replace(" -", "-").strip()
    begin = f"{px(tenths[0] / 10)} {px(tenths[1] / 10)}"
    return f'<path d="M{begin}l{steps}" {LINES[kind]}/>'


def rect(x: float, y: float, width: float, height: float, kind: str) -> str:
    """A filled rectangle."""
    return (
        f'<rect x="{px(x)}" y="{px(y)}" width="{px(width)}" height="{px(height)}" {FILLS[kind]}/>'
    )


def bars(places: Sequence[tuple[float, float]], y: float, height: float, kind: str) -> str:
    """Bars of one height from begin to end each, as one element; "" for none."""
    steps = (
        f"M{px(begin)} {px(y)}h{px(end - begin)}v{px(height)}h{px(begin - end)}z"
        for begin, end in places
    )
    return f'<path d="{"".join(steps)}" {FILLS[kind]}/>' if places else ""


def text(x: float, y: float, words: str, kind: str = "label", anchor: str = "start") -> str:
    """A line of text; `anchor` is start, middle or end."""
    return (
        f'<text x="{px(x)}" y="{px(y)}" text-anchor="{anchor}" {TEXTS[kind]}>{escape(words)}</text>'
    )


def unbroken(points: Iterable[tuple[float, float | None]]) -> list[list[Point]]:
    """The runs of points between gaps: a missing value is a gap, never a line across."""
    runs: list[list[Point]] = [[]]
    for x, y in points:
        if y is None:
            runs.append([])
        else:
            runs[-1].append((x, y))
    return [run for run in runs if run]


def wide_and_narrow(wide: Markup, narrow: Markup) -> Markup:
    """The same chart drawn twice, for a screen and for a phone; a media query shows one of them."""
    return Markup(f'<div class="on-wide">{wide}</div><div class="on-narrow">{narrow}</div>')
