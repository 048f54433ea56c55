"""The watch list: where an engineer should look first, and how good such lists have been."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import number_key, unit_cell
from pipeline.render.scope import Scope
from pipeline.render.tables.tables import Tables
from pipeline.render.tables.watch import WatchBandRow, WatchSkillRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import (
    chance,
    count,
    decimal,
    percent,
    percent_range,
    printable,
    unknown,
    with_share,
    worded,
)

MOST_UNITS = 10
LUCK = {
    "stop_chart": "watch.luck.stop_chart",
    "stops_recent": "watch.luck.stops_recent",
    "drift": "watch.luck.drift",
}


def watch(scope: Scope) -> Section:
    """At most ten units of the scope, the likeliest to fail within four weeks first."""
    units = {unit.unit_serial: unit for unit in scope.in_service}
    rows = [row for row in scope.tables.watch if row.unit_serial in units and row.is_listed]
    lines = tuple(
        Line(
            (
                unit_cell(scope.tables, units[row.unit_serial], with_site=True),
                Cell(chance(row.probability), key=number_key(row.probability)),
                Cell(printable(row.why)),
            )
        )
        for row in rows[:MOST_UNITS]
    )
    columns = (
        Column(phrase("column.unit")),
        Column(phrase("column.watch_chance"), phrase("column.watch_chance_below"), is_number=True),
        Column(phrase("column.watch_why")),
    )
    table = Table("watch-units", phrase("watch.table"), columns, lines, phrase("watch.none"))
    return Section(
        "watch",
        phrase("watch.title"),
        phrase("watch.lead", len(rows)),
        notes=(_past(scope.tables), phrase("watch.caution")),
        tables=(table,),
    )


def _past(tables: Tables) -> str:
    """How good the list has been, in a sentence."""
    rows = [row for row in tables.watch_skill if row.signal == "list"]
    if not rows:
        return phrase("watch.no_past")
    return phrase(
        "watch.past",
        rows[0].failed_count,
        editions=count(rows[0].edition_count),
        precision=percent(rows[0].precision_share),
    )


def watch_method(tables: Tables) -> Section:
    """For the method page: skill and calibration of past editions, and what luck names."""
    return Section(
        "watch",
        phrase("watch.title"),
        phrase("watch.method"),
        notes=(
            phrase("watch.learned"),
            *(
                phrase(
                    LUCK[row.question],
                    row.named_count,
                    asked=count(row.asked_count),
                    luck=decimal(row.luck_count),
                )
                for row in tables.comparisons
            ),
        ),
        tables=(_skill_table(tables.watch_skill), _band_table(tables.watch_bands)),
    )


def _skill_table(rows: list[WatchSkillRow]) -> Table:
    columns = (
        Column(phrase("column.watch_signal")),
        Column(phrase("column.watch_area"), phrase("column.watch_area_below"), is_number=True),
        Column(phrase("column.watch_precision"), is_number=True),
        Column(phrase("column.watch_brier"), phrase("column.watch_brier_below"), is_number=True),
        Column(phrase("column.watch_lead"), phrase("column.watch_lead_below"), is_number=True),
    )
    lines = tuple(
        Line(
            (
                Cell(worded("watch.signal", row.signal)),
                Cell(decimal(row.area, 2), key=number_key(row.area)),
                Cell(percent(row.precision_share), key=number_key(row.precision_share)),
                Cell(unknown() if row.brier is None else decimal(row.brier, 3),
                     "" if row.brier is None else decimal(row.brier_of_base_rate, 3)),
                Cell(unknown() if row.lead_days is None else decimal(row.lead_days, 0)),
            )
        )
        for row in rows
    )  # fmt: skip
    caption = phrase("watch.skill_table")
    return Table("watch-skill", caption, columns, lines, phrase("watch.no_past"))


def _band_table(rows: list[WatchBandRow]) -> Table:
    columns = (
        Column(phrase("column.watch_said")),
        Column(phrase("column.watch_mean"), is_number=True),
        Column(phrase("column.watch_failed"), is_number=True),
    )
    lines = tuple(
        Line(
            (
                Cell(percent_range(row.low_share, row.high_share)),
                Cell(percent(row.said_share), key=number_key(row.said_share)),
                Cell(with_share(row.failed_count, row.unit_count)),
            )
        )
        for row in rows
    )
    caption = phrase("watch.band_table")
    return Table("watch-bands", caption, columns, lines, phrase("watch.no_past"))
