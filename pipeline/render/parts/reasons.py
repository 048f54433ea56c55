"""Why cycles stopped: counts by reason beside what is usual for so many stops."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import count_cell, number_key
from pipeline.render.parts.sums import reasons
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Cell, Column, Line, Table
from pipeline.render.words import expected, out_of, printable, worded

MOST_UNITS = 6
"""Units that get a column of their own; beyond it the site's column says it all."""


def reason_table(tables: Tables, units: tuple[UnitRow, ...]) -> Table:
    """Reasons of the twelve months, most frequent first; not recorded has its own line.

    What is usual shares the same number of stops out in the network's mix of reasons.
    """
    found = reasons(tables, units)
    total = sum(sum(by_unit.values()) for _, _, by_unit in found)
    network = tables.network_reasons
    shown = units if 1 < len(units) <= MOST_UNITS else ()
    lines = []
    for reason, family, by_unit in found:
        usual = total * network[reason] / sum(network.values())
        cells = (
            Cell(worded("stop_reason", reason), worded("stop_family", family)),
            *(count_cell(by_unit.get(unit.unit_serial, 0)) for unit in shown),
            count_cell(sum(by_unit.values())),
            Cell(expected(usual), key=number_key(usual)),
        )
        lines.append(Line(cells))
    columns = (
        Column(phrase("column.reason")),
        *(Column(printable(unit.label), is_number=True, is_wide_only=True) for unit in shown),
        Column(phrase("column.stopped"), is_number=True),
        Column(phrase("column.usual_for_many"), is_number=True),
    )
    return Table("reasons", phrase("reasons.table"), columns, tuple(lines), phrase("reasons.none"))


def common_reason(tables: Tables, unit: UnitRow) -> Cell:
    """The most frequent reason of a unit, as x of n stops."""
    found = reasons(tables, (unit,))
    if not found:
        return Cell(phrase("reasons.never"))
    most = sum(found[0][2].values())
    total = sum(sum(by_unit.values()) for _, _, by_unit in found)
    return Cell(worded("stop_reason", found[0][0]), out_of(most, total))
