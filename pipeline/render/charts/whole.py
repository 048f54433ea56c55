"""Whole charts: sized, named for those who cannot see them, and drawn again for a phone."""

from collections.abc import Callable, Iterable

from markupsafe import Markup

from pipeline.render.charts.svg import LABEL_SIZE, Canvas, Mark, joined, px
from pipeline.render.escape import escape


def picture(
    canvas: Canvas, title: str, description: str, body: Iterable[Mark], named_by: str = ""
) -> Markup:
    """A whole chart, named and described for those who cannot see it.

    `named_by`: the uid of a chart on the same page that has this name and description.
    """
    uid = escape(named_by or canvas.uid)
    names = (
        ""
        if named_by
        else f'<title id="{uid}-t">{escape(title)}</title>'
        f'<desc id="{uid}-d">{escape(description)}</desc>'
    )
    return Markup(
        f'<svg class="chart" {_sized(canvas.width, canvas.height)} role="img" '
        f'aria-labelledby="{uid}-t {uid}-d">{names}{joined(body)}</svg>'
    )


def small(width: int, height: int, label: str, body: Iterable[Mark]) -> Markup:
    """A chart inside a table cell, with a label and no ids."""
    return Markup(
        f'<svg class="chart" {_sized(width, height)} role="img" aria-label="{escape(label)}">'
        f"{joined(body)}</svg>"
    )


def symbol(side: int, body: Iterable[Mark]) -> Markup:
    """A sign beside a word, hidden from those to whom the word is read."""
    return Markup(
        f'<svg class="icon" width="{side}" height="{side}" fill="none" aria-hidden="true">'
        f"{joined(body)}</svg>"
    )


def symbol_again(side: int, uid: str) -> Markup:
    """A sign whose marks stand elsewhere on the page, named `uid` there."""
    return Markup(
        f'<svg class="icon" width="{side}" height="{side}" aria-hidden="true">'
        f'<use href="#{escape(uid)}"/></svg>'
    )


def wide_and_narrow(
    draw: Callable[[Canvas], list[Mark]],
    wide: Canvas,
    narrow: Canvas,
    title: str,
    description: str,
) -> Markup:
    """The same chart drawn twice, for a screen and for a phone; a media query shows one of them.

    Both are named by the words of the first, which count whether it is shown or not. Source: W3C,
    Accessible Name and Description Computation 1.2, 2A: what aria-labelledby refers to.
    """
    first = picture(wide, title, description, draw(wide))
    second = picture(narrow, title, description, draw(narrow), named_by=wide.uid)
    return Markup(f'<div class="on-wide">{first}</div><div class="on-narrow">{second}</div>')


def named(uid: str, marks: Iterable[Mark]) -> Mark:
    """Marks that are drawn again elsewhere on the page, where they are not filled either."""
    return Mark("", f'<g id="{escape(uid)}" fill="none">{joined(marks)}</g>', False)


def plot(uid: str, marks: Iterable[Mark]) -> Mark:
    """Lines and areas that are drawn again elsewhere, by `stretched`: their lines keep their width.

    Source: W3C, SVG 2, 8.14, vector-effect, which is not inherited: so each mark says it.
    """
    return named(
        uid,
        [
            Mark(f'{look} vector-effect="non-scaling-stroke"', shape, is_path)
            for look, shape, is_path in marks
        ],
    )


def stretched(uid: str, first: Canvas, second: Canvas) -> Mark:
    """The plot of this uid, from its place on one canvas into that on another.

    Round marks and texts would be squeezed, and so are no part of it.
    """
    across = (second.plot_right - second.left) / (first.plot_right - first.left)
    down = (second.plot_bottom - second.top) / (first.plot_bottom - first.top)
    right, below = second.left - first.left * across, second.top - first.top * down
    placed = f"matrix({across:.4g} 0 0 {down:.4g} {px(right)} {px(below)})"
    return Mark("", f'<use href="#{escape(uid)}" transform="{placed}"/>', False)


def _sized(width: int, height: int) -> str:
    """What a whole chart says once for all its marks."""
    return (
        f'viewBox="0 0 {width} {height}" width="{width}" height="{height}" fill="none" '
        f'font-size="{LABEL_SIZE}"'
    )
