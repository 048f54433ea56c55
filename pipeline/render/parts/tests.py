"""Spore tests of one unit: its weeks, each test with its line, and loads that growth doubts."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.incident import incident_table
from pipeline.render.parts.periods import source_cell
from pipeline.render.parts.routine import routine_notes, routine_table
from pipeline.render.parts.strip import (
    held_table,
    held_tests,
    off_time_table,
    spore_strip,
    strip_legend,
    strip_sentence,
)
from pipeline.render.paths import WORKBOOK
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.spore import LookbackRow, SporeTestRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import count, day, instant, printable, unknown, worded

MOST_LOADS, MOST_TESTS = 20, 12


def tests_section(tables: Tables, unit: UnitRow, number: int) -> Section:
    """The second numbered section of a unit's page."""
    weeks = tables.weeks_of(unit.unit_serial)
    name = printable(unit.label)
    opened = [one for one in tables.incidents.get(unit.unit_serial, []) if not one.cleared_on]
    loads = [row for one in opened for row in tables.lookbacks.get(one.incident_id, [])]
    held = held_tests(weeks, tables.held_tests.get(unit.unit_serial, []))
    told = [strip_sentence(weeks), _due_sentence(tables, unit)]
    if held:
        told.insert(1, phrase("strip.held", len(held)))
    notes = (
        phrase("tests.note"),
        *((phrase("tests.lookback_note"),) if loads else ()),
        *routine_notes(tables, unit),
    )
    return Section(
        "spore",
        phrase("tests.title", number=str(number)),
        " ".join(told),
        spore_strip(weeks, "strip", name),
        strip_legend([weeks]),
        notes=notes,
        tables=(
            off_time_table(weeks),
            *held_table(held),
            *((incident_table(tables, unit),) if tables.incidents.get(unit.unit_serial) else ()),
            *((_lookback_table(loads),) if loads else ()),
            _test_table(tables.spore_tests.get(unit.unit_serial, [])),
            routine_table(tables, unit),
        ),
    )


def _due_sentence(tables: Tables, unit: UnitRow) -> str:
    row = tables.spore_due.get(unit.unit_serial)
    if row is None:
        return phrase("tests.no_longer")
    reason = worded("reason.spore_due", row.reason)
    if row.due_on is None:
        return phrase("tests.no_due", reason=reason)
    asks = printable(row.asks) if row.asks else unknown()
    if row.is_forecast:
        return phrase("tests.due_forecast", day=day(row.due_on), reason=reason, asks=asks)
    return phrase("tests.due", day=day(row.due_on), reason=reason, asks=asks)


def _test_table(rows: list[SporeTestRow]) -> Table:
    columns = (
        Column(phrase("column.exposed")),
        Column(phrase("column.test"), is_wide_only=True),
        Column(phrase("column.result")),
        Column(phrase("column.result_on"), is_wide_only=True),
        Column(phrase("column.lot"), is_wide_only=True),
        Column(phrase("column.log_line")),
    )
    lines = tuple(
        Line(
            (
                Cell(instant(row.exposed_local), key=row.exposed_local.isoformat()),
                Cell(printable(row.test_id) if row.test_id else unknown(),
                     worded("purpose", row.purpose) if row.purpose else ""),
                Cell(worded("test_state", row.state)),
                Cell(instant(row.read_local) if row.read_local else phrase("tests.not_read")),
                Cell(printable(row.lot) if row.lot else unknown()),
                source_cell(row.path, row.content_sha, row.line),
            )
        )
        for row in rows[:MOST_TESTS]
    )  # fmt: skip
    summary = phrase("tests.summary", len(rows)) if rows else ""
    if len(rows) > MOST_TESTS:
        summary = phrase("tests.latest", n=count(MOST_TESTS), total=count(len(rows)), file=WORKBOOK)
    return Table("tests", phrase("tests.table"), columns, lines, phrase("tests.none"), summary)


def _lookback_table(rows: list[LookbackRow]) -> Table:
    columns = (
        Column(phrase("column.started")),
        Column(phrase("column.load")),
        Column(phrase("column.program"), is_wide_only=True),
        Column(phrase("column.outcome")),
    )
    lines = tuple(
        Line(
            (
                Cell(instant(row.started_local), key=row.started_local.isoformat()),
                Cell(printable(row.load_id) if row.load_id else phrase("tests.no_load")),
                Cell(worded("program", row.program)),
                Cell(worded("outcome", row.outcome)),
            )
        )
        for row in rows[:MOST_LOADS]
    )
    last = rows[0].last_valid_on
    since = day(last) if last else phrase("tests.never_valid")
    caption = phrase("tests.lookback", len(rows), since=since)
    if len(rows) > MOST_LOADS:
        caption += " " + phrase("tests.lookback_first", n=count(MOST_LOADS))
    return Table("lookback", caption, columns, lines, "")
