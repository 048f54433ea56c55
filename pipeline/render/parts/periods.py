"""Stopped cycles of one unit: periods of four weeks, reasons, and every stop with its line."""

from pipeline.base.phrases import phrase
from pipeline.render.charts.control import Period, control
from pipeline.render.parts.reasons import reason_table
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.stops import StoppedCycleRow, StopPeriodRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import NO_CHART, Cell, Column, Line, Section, Table
from pipeline.render.words import count, day, instant, percent, printable, share_of, unknown, worded

MOST_CYCLES = 12


def periods_section(tables: Tables, unit: UnitRow, number: int) -> Section:
    """The first numbered section of a unit's page."""
    rows = tables.stop_periods.get(unit.unit_serial, [])
    ran = [row for row in rows if row.run_count]
    title = phrase("periods.title", number=str(number))
    above = [row for row in rows if row.is_above]
    chart, lead = NO_CHART, phrase("periods.none_run")
    if ran:
        lead = phrase("periods.above", len(above), total=count(len(ran)))
        if ran[-1].usual_share is not None:
            lead += " " + phrase("periods.usual", share=percent(ran[-1].usual_share))
        name = phrase("periods.chart", unit=printable(unit.label))
        chart = control(tuple(_period(row) for row in rows), "control", name, lead)
    return Section(
        "stops",
        title,
        lead,
        chart,
        notes=(phrase("periods.note"),) if ran else (),
        tables=(
            _above_table(above),
            reason_table(tables, (unit,)),
            _cycle_table(tables.stopped_cycles.get(unit.unit_serial, [])),
        ),
    )


def _period(row: StopPeriodRow) -> Period:
    share = row.equipment_count / row.run_count if row.run_count else None
    return Period(row.period_on, share, row.usual_share, row.limit_share, bool(row.is_above))


def _above_table(rows: list[StopPeriodRow]) -> Table:
    columns = (
        Column(phrase("column.starting")),
        Column(phrase("column.stopped_equipment"), is_number=True),
        Column(phrase("column.run"), is_number=True),
        Column(phrase("column.rate"), is_number=True),
        Column(phrase("column.limit"), is_number=True),
        Column(phrase("column.common_reason")),
    )
    lines = tuple(
        Line(
            (
                Cell(day(row.period_on)),
                Cell(count(row.equipment_count)),
                Cell(count(row.run_count)),
                Cell(share_of(row.equipment_count, row.run_count) or phrase("number.too_few")),
                Cell(percent(row.limit_share)),
                Cell(worded("stop_reason", row.reason) if row.reason else unknown()),
            )
        )
        for row in reversed(rows)
    )
    return Table("above", phrase("periods.above_table"), columns, lines, phrase("periods.never"))


def _cycle_table(rows: list[StoppedCycleRow]) -> Table:
    columns = (
        Column(phrase("column.started")),
        Column(phrase("column.cycle"), is_number=True),
        Column(phrase("column.program"), is_wide_only=True),
        Column(phrase("column.reason")),
        Column(phrase("column.log_line")),
    )
    lines = tuple(
        Line(
            (
                Cell(instant(row.started_local), key=row.started_local.isoformat()),
                Cell(unknown() if row.cycle_number is None else count(row.cycle_number)),
                Cell(worded("program", row.program)),
                Cell(
                    worded("stop_reason", row.stop_reason),
                    phrase("periods.false_start")
                    if row.is_false_start
                    else worded("stop_family", row.stop_family),
                ),
                source_cell(row.path, row.content_sha, row.line),
            )
        )
        for row in rows[:MOST_CYCLES]
    )
    summary = phrase("periods.every_stop", len(rows)) if rows else ""
    if len(rows) > MOST_CYCLES:
        summary = phrase("periods.latest_stops", n=count(MOST_CYCLES), total=count(len(rows)))
    return Table(
        "stopped-cycles",
        phrase("periods.cycle_table"),
        columns,
        lines,
        phrase("periods.no_stop"),
        summary,
    )


def source_cell(path: str, sha: str, line: int) -> Cell:
    """The line of a log that a figure comes from, with the beginning of the file's fingerprint."""
    return Cell(
        phrase("source.line", path=printable(path), line=count(line)),
        phrase("source.fingerprint", sha=sha[:12]),
    )
