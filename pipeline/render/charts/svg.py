"""The elements that charts are made of. Only this folder wraps text as Markup.

Each mark carries presentation attributes beside its class: style.css overrides them on a page
(dark mode, print), and they alone serve where a style sheet does not reach inside a picture.
Neighbours that look alike hold them once, on a group; lines and areas of one look are one path,
and what holds for most marks (not filled, the size of letters) stands on the chart itself.
Everything is rounded to 0.1 px, so the same values give the same bytes on every machine.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import groupby
from operator import itemgetter, sub
from typing import NamedTuple

import numpy as np

from pipeline.physics.reason import Floats
from pipeline.render.escape import escape

Point = tuple[float, float]
MaybePoint = tuple[float, float | None]
"""A point, or a gap where no height is known."""

INK, MUTED, RULE, BLUE, ACT, LOOK, BAND, BROWN = (
    "#16212b", "#4d5963", "#d9d9d2", "#3b82a0", "#9b1b45", "#e39a1f", "#dbe8ec", "#8a5410",
)  # fmt: skip
"""The light palette; a test compares it with style.css."""

LABEL_SIZE = 11
"""Px of the letters in a chart."""

LINES = {
    "line": f'class="line" stroke="{BLUE}" stroke-width="1.4"',
    "second": f'class="second" stroke="{BROWN}" stroke-width="1.4"',
    "limit": f'class="limit" stroke="{MUTED}"',
    "dotted": f'class="limit" stroke="{MUTED}" stroke-dasharray="2 3"',
    "middle": f'class="limit" stroke="{MUTED}" stroke-width="1.6"',
    "grid": f'class="grid" stroke="{RULE}"',
    "bar": f'class="bar" stroke="{MUTED}" stroke-width="2"',
    "tick": f'class="tick" stroke="{INK}"',
    "dash": f'class="limit" stroke="{MUTED}" stroke-width="1.4"',
    "cross": f'class="cross" stroke="{ACT}" stroke-width="1.4"',
    "thick": f'class="line" stroke="{BLUE}" stroke-width="5"',
}
FILLS = {
    "band": f'class="band" fill="{BAND}"',
    "act": f'class="act-fill" fill="{ACT}"',
    "look": f'class="look-fill" fill="{LOOK}" stroke="#7d4a00"',
    "hollow": f'class="hollow" fill="#fdfdfb" stroke="{BLUE}" stroke-width="1.4"',
    "box": f'class="cross" stroke="{ACT}" stroke-width="1.4"',
    "few": f'class="few" stroke="{MUTED}" stroke-width="1.4" stroke-dasharray="2 2"',
}
TEXTS = {
    "label": f'class="label" fill="{MUTED}"',
    "sign": f'class="label" fill="{MUTED}" font-size="11"',
    "name": f'class="name" fill="{INK}" font-weight="600"',
    "inverse": 'class="inverse" fill="#ffffff" font-size="10" font-weight="700"',
}


class Canvas(NamedTuple):
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


@lru_cache(maxsize=1 << 16)
def px(value: float) -> str:
    """A length rounded to 0.1 px; kept, because charts of one size share most of their places."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


class Mark(NamedTuple):
    """A part of a chart: how it looks, and its shape, which is data of a path or an element."""

    look: str
    shape: str
    is_path: bool = True


_LOOK, _IS_PATH = itemgetter(0), itemgetter(2)


def joined(marks: Iterable[Mark]) -> str:
    """The marks in their order, as few elements as can draw them."""
    drawn: list[str] = []
    for look, alike in groupby(marks, key=_LOOK):
        parts: list[str] = []
        for is_path, of_kind in groupby(alike, key=_IS_PATH):
            shapes = [mark.shape for mark in of_kind]
            parts += [f'<path d="{"".join(shapes)}"/>'] if is_path else shapes
        if not look:
            drawn += parts
        elif len(parts) == 1:
            name, rest = parts[0].split(" ", 1)
            drawn.append(f"{name} {look} {rest}")
        else:
            drawn.append(f"<g {look}>{''.join(parts)}</g>")
    return "".join(drawn)


def path(points: Sequence[Point], kind: str) -> list[Mark]:
    """A line through the points; a single point leaves nothing to draw."""
    if len(points) < 2:
        return []
    # Steps from point to point, in tenths of a px so that no rounding adds up: half as long as
    # places.
    tenths = [round(length * 10) for point in points for length in point]
    return [_through(tenths[0], tenths[1], map(sub, tenths[2:], tenths), kind)]


def line(across: Floats, heights: Floats, kind: str) -> Mark:
    """A line through two points or more; as arrays, because a log has hundreds of them."""
    places = np.empty((len(across), 2))
    places[:, 0], places[:, 1] = across, heights
    tenths = np.rint(places * 10).astype(np.int64)
    steps = (tenths[1:] - tenths[:-1]).ravel()
    x, y = tenths[0].tolist()
    return _through(x, y, steps.tolist(), kind)


class _Steps(dict[int, str]):
    """Lengths in tenths of a px, as they stand behind another in a path.

    Kept as they come: most of the time of a page went into them, and a chart is not so large that
    there could be many.
    """

    def __missing__(self, tenths: int) -> str:
        text = px(tenths / 10)
        step = text.replace("-0.", "-.") if tenths < 0 else f" {text.removeprefix('0') or 0}"
        return self.setdefault(tenths, step)


_STEPS = _Steps()


def _through(x: int, y: int, steps: Iterable[int], kind: str) -> Mark:
    """A line from a place, step by step; all in tenths of a px."""
    told = "".join(map(_STEPS.__getitem__, steps)).lstrip()
    return Mark(LINES[kind], f"M{px(x / 10)} {px(y / 10)}l{told}")


def level(places: Sequence[tuple[float, float]], y: float, kind: str) -> list[Mark]:
    """Stretches of one level line, from begin to end each; what lies between them stays empty."""
    steps: list[str] = []
    at = 0
    for begin, end in ((round(begin * 10), round(end * 10)) for begin, end in places):
        move = f"m{px((begin - at) / 10)} 0" if steps else f"M{px(begin / 10)} {px(y)}"
        steps.append(f"{move}h{px((end - begin) / 10)}")
        at = end
    return [Mark(LINES[kind], "".join(steps))] if steps else []


def dashed(line: Mark, dash: float, gap: float) -> Mark:
    """A line of dashes and gaps of these lengths; to 0.01 px, because a year of them adds up."""
    return line._replace(look=f'{line.look} stroke-dasharray="{dash:.2f} {px(gap)}"')


def rect(x: float, y: float, width: float, height: float, kind: str) -> Mark:
    """A filled rectangle."""
    return Mark(FILLS[kind], f"M{px(x)} {px(y)}h{px(width)}v{px(height)}h{px(-width)}z")


def area(corners: Sequence[Point], kind: str) -> Mark:
    """A filled shape with straight sides."""
    places = " ".join(f"{px(x)} {px(y)}" for x, y in corners)
    return Mark(FILLS[kind], f"M{places}Z")


def circle(x: float, y: float, radius: float, kind: str) -> Mark:
    """A filled circle."""
    return Mark(FILLS[kind], f'<circle cx="{px(x)}" cy="{px(y)}" r="{px(radius)}"/>', False)


def text(x: float, y: float, words: str, kind: str = "label", anchor: str = "start") -> Mark:
    """A line of text, at whole px; `anchor` is start, middle or end."""
    look = TEXTS[kind] if anchor == "start" else f'{TEXTS[kind]} text-anchor="{anchor}"'
    return Mark(look, f'<text x="{x:.0f}" y="{y:.0f}">{escape(words)}</text>', False)


def unbroken(points: Iterable[MaybePoint]) -> list[list[Point]]:
    """The runs of points between gaps: a missing value is a gap, never a line across."""
    runs: list[list[Point]] = [[]]
    for x, y in points:
        if y is None:
            runs.append([])
        else:
            runs[-1].append((x, y))
    return [run for run in runs if run]
