"""Tables as HTML: not in a template, because cells are counted in thousands.

A template takes four times as long for them. Every text is escaped; only charts pass as they are.
On a phone the rows of a wide table are laid out as cards, and each cell then names its column,
whose heading is not seen.
"""

from functools import lru_cache

from markupsafe import Markup

from pipeline.base.language import language
from pipeline.render.escape import escape
from pipeline.render.views import Cell, Column, Line, Table


# Those of one kind of page are the same on each of them.
@lru_cache(maxsize=1 << 10)
def headings(columns: tuple[Column, ...]) -> Markup:
    """The headings of columns."""
    return Markup("".join(map(_heading, columns)))


def _heading(column: Column) -> str:
    kinds = " ".join(
        kind for kind, has in (("n", column.is_number), ("w", column.is_wide_only)) if has
    )
    opening = f'<th class="{kinds}">' if kinds else "<th>"
    below = f"<small>{escape(column.below)}</small>" if column.below else ""
    return f"{opening}{escape(column.title)}{below}</th>"


def rows(table: Table) -> Markup:
    """The rows of a table's body; the first cell of each is its heading."""
    tags = _tags(table.columns, table.is_cards)
    return Markup("".join([_row(line, tags, table) for line in table.lines]))


@lru_cache(maxsize=1 << 10)
def _tags(columns: tuple[Column, ...], is_cards: bool) -> tuple[tuple[str, str], ...]:
    """What each cell of a row begins with, but for its end, and what it ends with.

    A heading among data cells is that of its row, one among headings that of its column, without a
    scope to say so: WHATWG, HTML, 4.9.12.2, the auto state.
    """
    others = (
        f'<td data-label="{escape(column.title)}"'
        if is_cards and not column.is_wide_only
        else "<td"
        for column in columns[1:]
    )
    return (("<th", "</th>"), *((opening, "</td>") for opening in others))


def _row(line: Line, tags: tuple[tuple[str, str], ...], table: Table) -> str:
    cells, state = line
    assert len(cells) == len(tags), "a cell for each column"
    told = f' data-state="{escape(state)}"' if state and table.finds else ""
    is_sortable = table.is_sortable
    parts = [
        f"{opening}{_key(cell) if is_sortable else ''}>{_inside(cell)}{closing}"
        for (opening, closing), cell in zip(tags, cells, strict=True)
    ]
    return f"<tr{told}>{''.join(parts)}</tr>\n"


def _key(cell: Cell) -> str:
    return f' data-key="{escape(cell.key)}"' if cell.key else ""


def _inside(cell: Cell) -> str:
    text, below, _, href, chart, state, is_english = cell
    shown = escape(text)
    if is_english and not language().startswith("en"):
        shown = f'<span lang="en">{shown}</span>'
    if state:
        shown = f'<span class="badge {escape(state)}">{chart} {shown}</span>'
    elif href:
        shown = f'{chart}<a href="{escape(href)}">{shown}</a>'
    elif chart:
        shown = f"{chart}{shown}"
    return f"{shown}<small>{escape(below)}</small>" if below else shown
