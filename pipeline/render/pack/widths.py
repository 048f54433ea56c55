"""How wide the columns of a table stand on paper, from the texts that they hold.

Widths that are given are also kept: nothing that a log holds makes a table wider than its page.
"""

from pipeline.render.views import Cell, Column, Table

LEAST, MOST = 8, 36
"""Letters; what is longer than MOST is broken anyway."""
SHORT, ACROSS = 14, 112
"""A page has room for ACROSS letters; where that is too few, only columns beyond SHORT give way."""
CHART_LETTERS, ICON_LETTERS = 24, 4
BOLD = 1.4
"""How much wider a letter of a heading or a state is, and a little room."""


def widths(table: Table) -> list[int]:
    """Of each column, in letters of which a page has room for ACROSS; a share where it has not."""
    needs = [
        _needed(column, [line.cells[place] for line in table.lines])
        for place, column in enumerate(table.columns)
    ]
    kept = sum(need for need in needs if need <= SHORT)
    if sum(needs) > ACROSS > kept:
        shrunk = (ACROSS - kept) / (sum(needs) - kept)
        needs = [need if need <= SHORT else max(SHORT, int(need * shrunk)) for need in needs]
    return needs


def _needed(column: Column, cells: list[Cell]) -> int:
    """Letters that a column would like to have beside one another."""
    heading = max(len(word) for word in f"{column.title} {column.below} -".split())
    return min(MOST, max(LEAST, int(heading * BOLD) + 1, *map(_letters, cells)))


def _letters(cell: Cell) -> int:
    if cell.state:
        return max(ICON_LETTERS + int(len(cell.text) * BOLD), len(cell.below))
    return max(len(cell.text), len(cell.below), CHART_LETTERS if cell.chart else 0)
