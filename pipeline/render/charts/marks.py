"""The shapes of the states. Shape, fill and word each carry the meaning alone."""

from markupsafe import Markup

from pipeline.render.charts.svg import FILLS, LINES, px

SHAPES = ("act_now", "look_into", "usual", "too_few", "not_seen", "lower")


def mark(shape: str, x: float, y: float, size: float = 4) -> str:
    """A state's shape around a point; `lower` marks what is better than chance explains."""
    if shape == "act_now":
        top, base, half = y - size, y + size * 0.85, size * 1.1
        return (
            f'<path d="M{px(x)} {px(top)} {px(x + half)} {px(base)} {px(x - half)} {px(base)}Z" '
            f"{FILLS['act']}/>"
        )
    if shape == "look_into":
        half = size * 1.15
        return (
            f'<path d="M{px(x)} {px(y - half)} {px(x + half)} {px(y)} {px(x)} {px(y + half)} '
            f'{px(x - half)} {px(y)}Z" {FILLS["look"]}/>'
        )
    if shape == "not_seen":
        return f'<path d="M{px(x - size)} {px(y)} {px(x + size)} {px(y)}" {LINES["dash"]}/>'
    if shape == "lower":
        side = size * 1.6
        return (
            f'<rect x="{px(x - side / 2)}" y="{px(y - side / 2)}" width="{px(side)}" '
            f'height="{px(side)}" {FILLS["hollow"]}/>'
        )
    kind = "few" if shape == "too_few" else "hollow"
    return f'<circle cx="{px(x)}" cy="{px(y)}" r="{px(size * 0.75)}" {FILLS[kind]}/>'


def icon(shape: str) -> Markup:
    """A state's shape alone, for beside its word; hidden from those to whom the word is read."""
    return Markup(
        '<svg class="icon" viewBox="0 0 14 14" width="14" height="14" aria-hidden="true">'
        f"{mark(shape, 7, 7, 5)}</svg>"
    )
