"""The shapes of the states. Shape, fill and word each carry the meaning alone."""

from collections import Counter
from functools import cache

from markupsafe import Markup

from pipeline.render.charts.svg import LINES, Mark, area, circle, joined, px, rect
from pipeline.render.charts.whole import named, symbol, symbol_again

SHAPES = ("act_now", "look_into", "usual", "too_few", "not_seen", "lower")
ICON_SIDE = 14
_BEGIN, _END = str(symbol(ICON_SIDE, [Mark("", "|", False)])).split("|")
"""What stands around the marks of every icon."""


def mark(shape: str, x: float, y: float, size: float = 4) -> Mark:
    """A state's shape around a point; `lower` marks what is better than chance explains."""
    match shape:
        case "act_now":
            top, base, half = y - size, y + size * 0.85, size * 1.1
            return area([(x, top), (x + half, base), (x - half, base)], "act")
        case "look_into":
            half = size * 1.15
            return area([(x, y - half), (x + half, y), (x, y + half), (x - half, y)], "look")
        case "not_seen":
            return Mark(LINES["dash"], f"M{px(x - size)} {px(y)}h{px(size * 2)}")
        case "lower":
            side = size * 1.6
            return rect(x - side / 2, y - side / 2, side, side, "hollow")
        case "too_few":
            return circle(x, y, size * 0.75, "few")
        case _:
            return circle(x, y, size * 0.75, "hollow")


@cache
def icon(shape: str) -> Markup:
    """A state's shape alone, for beside its word; hidden from those to whom the word is read."""
    return symbol(ICON_SIDE, [mark(shape, 7, 7, 5)])


def drawn_once(page: str) -> str:
    """A page on which the icon of each state is drawn where it first stands, and then referred to.

    Source: W3C, SVG 2, 5.6: what a use element refers to may stand in any part of the document.
    """
    before, *others = page.split(_BEGIN)
    icons = [other.split(_END, 1) for other in others]
    counts, done = Counter(marks for marks, _ in icons), set()
    parts = [before]
    for marks, after in icons:
        ways = _ways().get(marks)
        if ways is None or counts[marks] < 3:
            parts += _BEGIN, marks, _END, after
        else:
            parts += ways[marks in done], after
            done.add(marks)
    return "".join(parts)


@cache
def _ways() -> dict[str, tuple[str, str]]:
    """Of each state what its icon holds: the icon when others refer to it, and one of those."""
    found = {}
    for shape in SHAPES:
        uid, drawn = f"icon-{shape}", [mark(shape, 7, 7, 5)]
        first = symbol(ICON_SIDE, [named(uid, drawn)])
        # As plain text, because the page around them is: joined to it, Markup would escape it.
        found[joined(drawn)] = (str(first), str(symbol_again(ICON_SIDE, uid)))
    return found
