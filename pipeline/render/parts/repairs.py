"""Did the repair help? Each repair of a unit with the equipment stops before and after it."""

from pipeline.base.phrases import phrase
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.tables.upkeep import RepairRow
from pipeline.render.views import Cell, Column, Line, Table
from pipeline.render.words import day, out_of, share_change, worded


def repair_tables(tables: Tables, unit: UnitRow) -> tuple[Table, ...]:
    """One table of the year's repairs, the latest first; none for a unit without any."""
    rows = tables.repairs.get(unit.unit_serial, [])
    if not rows:
        return ()
    columns = (
        Column(phrase("repairs.repaired")),
        Column(phrase("repairs.before"), phrase("repairs.side"), is_number=True),
        Column(phrase("repairs.after"), phrase("repairs.side"), is_number=True),
        Column(phrase("repairs.difference"), phrase("repairs.difference_below"), is_number=True),
        Column(phrase("repairs.outcome"), phrase("repairs.caution")),
    )
    lines = tuple(_line(row) for row in reversed(rows))
    return (Table("repairs", phrase("repairs.table"), columns, lines, phrase("table.none")),)


def _line(row: RepairRow) -> Line:
    difference, spread = share_change(row.difference, row.difference_low, row.difference_high)
    return Line(
        (
            Cell(day(row.repaired_on)),
            Cell(_x_of_n(row.stopped_before, row.run_before)),
            Cell(_x_of_n(row.stopped_after, row.run_after)),
            Cell(difference, spread),
            Cell(worded("repairs.is", row.outcome)),
        )
    )


def _x_of_n(stopped: int, run: int) -> str:
    return out_of(stopped, run) if run else phrase("number.none_run")
