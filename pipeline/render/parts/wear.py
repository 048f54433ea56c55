"""Tables of measured values that left the range which the unit itself kept to."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import URGENT, badge, urgency
from pipeline.render.parts.cells import number_key, unit_cell
from pipeline.render.parts.stopped import MOST_LINES, first_of
from pipeline.render.quantity import change, quantity, quantity_range
from pipeline.render.scope import STATES, Scope
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.tables.upkeep import DriftRow
from pipeline.render.views import Cell, Column, Line, Table
from pipeline.render.words import count, day, printable, unknown, worded


def drift_table(scope: Scope) -> Table:
    """Measured values outside the range that the unit kept to itself, worst first."""
    rows = [
        (unit, row)
        for unit in scope.in_service
        for row in scope.tables.urgent_drifts.get(unit.unit_serial, [])
    ]
    rows.sort(key=lambda pair: (STATES.index(pair[1].state), -(pair[1].weeks_outside or 0)))
    lines = tuple(_drift_line(scope.tables, unit, row) for unit, row in rows[:MOST_LINES])
    caption = first_of(phrase("upkeep.by_value"), len(lines), len(rows))
    return Table("upkeep-wear", caption, drift_columns(), lines, phrase("upkeep.no_wear"))


def drift_columns(*, with_unit: bool = True) -> tuple[Column, ...]:
    """The columns of a drift table."""
    first = (Column(phrase("column.unit")),) if with_unit else ()
    return (
        *first,
        Column(phrase("column.value")),
        Column(phrase("column.state")),
        Column(phrase("column.own_range"), is_wide_only=True),
        Column(phrase("column.latest"), is_number=True),
        Column(phrase("column.change"), phrase("column.change_below"), is_number=True,
               is_wide_only=True),
        Column(phrase("column.weeks_outside"), is_number=True),
    )  # fmt: skip


def drift_cells(tables: Tables, row: DriftRow) -> tuple[Cell, ...]:
    """One measured value: own range, latest, change a month with its interval, weeks outside."""
    feature, mark = row.feature, badge(row.state)
    why = "" if row.state in URGENT else worded("reason.drift", row.reason)
    spread = ""
    if row.slope_low is not None and row.slope_high is not None:
        spread = phrase("number.range", low=change(feature, row.slope_low),
                        high=change(feature, row.slope_high))  # fmt: skip
    since = phrase("upkeep.since", day=day(row.since_on)) if row.since_on else ""
    outside = row.weeks_outside
    return (
        Cell(feature_title(tables, feature), worded("program", row.program), feature),
        Cell(mark.word, why, urgency(row.state), chart=mark.icon,
             state=row.state),
        Cell(quantity_range(feature, row.baseline_low, row.baseline_high)),
        Cell(quantity(feature, row.latest), key=number_key(row.latest)),
        Cell(change(feature, row.slope_per_month), spread, number_key(row.slope_per_month)),
        Cell(unknown() if outside is None else count(outside), since, number_key(outside)),
    )  # fmt: skip


def feature_title(tables: Tables, feature: str) -> str:
    """What a measured value is called."""
    row = tables.features.get(feature)
    return printable(row.title) if row else feature.replace("_", " ")


def _drift_line(tables: Tables, unit: UnitRow, row: DriftRow) -> Line:
    cells = (unit_cell(tables, unit, with_site=True), *drift_cells(tables, row))
    return Line(cells, row.state)
