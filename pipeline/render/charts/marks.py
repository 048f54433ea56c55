"""The shapes of the states. Shape, fill and word each carry the meaning alone."""

from markupsafe import Markup

from pipeline.render.charts.svg import LINES, Mark, area, circle, px, rect, symbol

SHAPES = ("act_now", "look_into", "usual", "too_few", "not_seen", "lower")


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


def icon(shape: str) -> Markup:
    """A state's shape alone, for beside its word; hidden from those to whom the word is read."""
    return symbol(14, [mark(shape, 7, 7, 5)])
