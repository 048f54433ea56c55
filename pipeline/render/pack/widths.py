"""How wide the columns of a table stand on paper, from the texts that they hold.

Left to find this out itself, the typesetter measures every text at every place where it could be
broken, which took most of the time of a pack. Widths that are given are also kept: nothing that a
log holds makes a table wider than its page.
"""

from markupsafe import Markup

from pipeline.render.views import Cell, Column, Table

LEAST, MOST = 8, 36
"""Letters; what is longer than MOST is broken anyway."""
SHORT, ACROSS = 14, 112
"""A page has room for ACROSS letters; where that is too few, only columns beyond SHORT give way."""
CHART_LETTERS, ICON_LETTERS = 24, 3
BOLD = 1.25
"""How much wider a letter of a heading is, and a little room."""


def colgroup(table: Table) -> Markup:
    """The columns with a class each that says its share of the width: w14 for 14 %."""
    needs = [
        _needed(column, [line.cells[place] for line in table.lines])
        for place, column in enumerate(table.columns)
    ]
    kept = sum(need for need in needs if need <= SHORT)
    if sum(needs) > ACROSS > kept:
        shrunk = (ACROSS - kept) / (sum(needs) - kept)
        needs = [need if need <= SHORT else max(SHORT, int(need * shrunk)) for need in needs]
    columns = (f'<col class="w{max(1, 100 * need // sum(needs))}">' for need in needs)
    return Markup(f"<colgroup>{''.join(columns)}</colgroup>")


def rules() -> str:
    """What each of these classes means."""
    return "".join(f".w{share} {{ width: {share}%; }}\n" for share in range(1, 101))


def _needed(column: Column, cells: list[Cell]) -> int:
    """Letters that a column would like to have beside one another."""
    heading = max(len(word) for word in f"{column.title} {column.below} -".split())
    return min(MOST, max(LEAST, int(heading * BOLD) + 1, *map(_letters, cells)))


def _letters(cell: Cell) -> int:
    chart = 0 if not cell.chart else ICON_LETTERS if cell.state else CHART_LETTERS
    return max(len(cell.text) + (chart if cell.state else 0), len(cell.below), chart)
