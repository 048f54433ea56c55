"""The rows of a table as HTML: not in a template, because cells are counted in thousands.

A template takes four times as long for them. Every text is escaped; only charts pass as they are.
What was escaped is kept a while, because days, states and words come again and again.
On a phone the rows of a wide table are laid out as cards, and each cell then names its column,
whose heading is not seen.
"""

from functools import lru_cache
from html import escape as escaped
from itertools import repeat

from markupsafe import Markup

from pipeline.base.language import language
from pipeline.render.views import Cell, Column, Line, Table

escape = lru_cache(maxsize=1 << 14)(escaped)


def rows(table: Table) -> Markup:
    """The rows of a table's body; the first cell of each is its heading."""
    is_cards = table.is_cards
    openings = [_opening(column, place, is_cards) for place, column in enumerate(table.columns)]
    return Markup("".join(_row(line, openings, table) for line in table.lines))


def _opening(column: Column, place: int, is_card: bool) -> str:
    # A heading among data cells is that of its row, one among headings that of its column, without
    # a scope to say so: WHATWG, HTML, 4.9.12.2, the auto state.
    if place == 0:
        return "<th"
    return (
        f'<td data-label="{escape(column.title)}"' if is_card and not column.is_wide_only else "<td"
    )


def _row(line: Line, openings: list[str], table: Table) -> str:
    state = f' data-state="{escape(line.state)}"' if line.state and table.finds else ""
    keys = map(_key, line.cells) if table.is_sortable else repeat("")
    parts = [
        f"{opening}{key}>{_inside(cell)}</{opening[1:3]}>"
        for opening, key, cell in zip(openings, keys, line.cells, strict=False)
    ]
    assert len(parts) == len(openings) == len(line.cells), "a cell for each column"
    return f"<tr{state}>{''.join(parts)}</tr>\n"


def _key(cell: Cell) -> str:
    return f' data-key="{escape(cell.key)}"' if cell.key else ""


def _inside(cell: Cell) -> str:
    text, chart, below = escape(cell.text), cell.chart, cell.below
    if cell.is_english and not language().startswith("en"):
        text = f'<span lang="en">{text}</span>'
    if cell.state:
        shown = f'<span class="badge {escape(cell.state)}">{chart} {text}</span>'
    elif cell.href:
        shown = f'{chart}<a href="{escape(cell.href)}">{text}</a>'
    else:
        shown = f"{chart}{text}" if chart else text
    return f"{shown}<small>{escape(below)}</small>" if below else shown
