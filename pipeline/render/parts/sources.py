"""Where the figures of one unit come from: its log files with their fingerprints and lines."""

from pipeline.base.phrases import phrase
from pipeline.render.paths import BALANCE
from pipeline.render.tables.evidence import SourceRow
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Cell, Column, Fact, Line, Section, Table
from pipeline.render.words import count, day, out_of, printable, unknown, worded

MOST_FILES = 12


def sources_section(tables: Tables, unit: UnitRow, number: int) -> Section:
    """The last numbered section of a unit's page."""
    rows = tables.sources.get(unit.unit_serial, [])
    lines = sum(row.used_count for row in rows)
    columns = (
        Column(phrase("column.file")),
        Column(phrase("column.kind"), is_wide_only=True),
        Column(phrase("column.lines_used"), is_number=True),
        Column(phrase("column.between_lines"), is_number=True),
        Column(phrase("column.fingerprint"), is_wide_only=True),
    )
    table = Table(
        "files",
        phrase("sources.table"),
        columns,
        tuple(_line(row) for row in rows[:MOST_FILES]),
        phrase("sources.none"),
    )
    notes = []
    if len(rows) > MOST_FILES:
        notes.append(phrase("sources.more", len(rows) - MOST_FILES, file=BALANCE))
    lead = phrase("sources.lead", len(rows), lines=count(lines))
    title = phrase("sources.title", number=str(number))
    return Section(
        "sources",
        title,
        lead,
        notes=tuple(notes),
        facts=_facts(tables, unit),
        tables=(table,),
    )


def _facts(tables: Tables, unit: UnitRow) -> tuple[Fact, ...]:
    row = tables.coverage.get(unit.unit_serial)
    if row is None:
        return (Fact(unknown(), phrase("sources.heard"), phrase("sources.no_longer")),)
    span = row.cycle_count + row.missing_count
    return (
        Fact(
            phrase("number.range", low=day(row.first_on), high=day(row.last_on)),
            phrase("sources.first_last"),
        ),
        Fact(
            out_of(row.cycle_count, span),
            phrase("sources.received"),
            phrase("sources.missing", row.missing_count),
        ),
        Fact(
            count(row.false_start_count),
            phrase("sources.false_starts"),
            phrase("sources.false_starts_below"),
        ),
        Fact(
            day(row.heard_on),
            phrase("sources.heard"),
            worded("reason.coverage", row.reason) if row.reason != "heard" else "",
        ),
    )


def _line(row: SourceRow) -> Line:
    between = phrase("sources.between", first=count(row.first_line), last=count(row.last_line))
    return Line(
        (
            Cell(printable(row.path), row.content_sha[:12]),
            Cell(worded("feed_kind", row.kind)),
            Cell(count(row.used_count)),
            Cell(between),
            Cell(row.content_sha),
        )
    )
