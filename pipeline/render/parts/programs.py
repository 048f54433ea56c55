"""What the tables of programs ask for, each figure with its source and how well it is confirmed."""

from collections.abc import Iterable

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import number_key
from pipeline.render.quantity import quantity
from pipeline.render.tables.register import ProfileRow
from pipeline.render.tables.tables import Tables
from pipeline.render.tables.verdict import ProgramFigureRow, ProgramRow, ProgramTableRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import day, decimal, printable, unknown, worded


def programs_sections(tables: Tables, practices: Iterable[ProfileRow]) -> tuple[Section, ...]:
    """A section of the method page for each table, and one for the practices that have none."""
    rows = {row.program_table: row for row in tables.program_tables.values()}
    sections = [_section(tables, row, place) for place, row in enumerate(rows.values(), start=1)]
    without = [one for one in practices if one.practice not in tables.program_tables]
    return (*sections, *([_missing(without)] if without else []))


def _missing(practices: Iterable[ProfileRow]) -> Section:
    named = "; ".join(printable(one.title) for one in practices)
    return Section(
        "programs-missing",
        phrase("programs.missing_title"),
        phrase("programs.missing_lead", practices=named),
        notes=(phrase("programs.missing_note"),),
    )


def table_sentence(tables: Tables, practice: str) -> str:
    """Which table holds for a site of this practice, and when it was last compared."""
    row = tables.program_tables.get(practice)
    if row is None:
        return phrase("judged.no_table")
    return phrase("judged.table", title=printable(row.title), day=day(row.reviewed_on))


def _section(tables: Tables, row: ProgramTableRow, place: int) -> Section:
    limits = Table(
        f"limits-{place}",
        phrase("programs.limits"),
        _heads("what", "limit_column", "source"),
        tuple(_limit(one) for one in tables.program_figures.get(row.program_table, [])),
        phrase("table.none"),
    )
    least = Table(
        f"programs-{place}",
        phrase("programs.table"),
        _heads("program", "temperature", "hold", "source"),
        tuple(_line(one) for one in tables.programs.get(row.program_table, [])),
        phrase("table.none"),
    )
    notes = [phrase("programs.note", day=day(row.reviewed_on)), phrase("programs.drying")]
    if row.needs_penetration_time:
        notes.append(phrase("programs.penetration"))
    title = phrase("programs.title", title=printable(row.title))
    lead = worded("programs_edge", row.lower_edge)
    return Section(f"programs-{place}", title, lead, notes=tuple(notes), tables=(least, limits))


def _line(row: ProgramRow) -> Line:
    return Line(
        (
            Cell(worded("wrap", row.wrap), worded("air_removal", row.air_removal)),
            Cell(f"{decimal(row.celsius, 0)} °C", key=number_key(row.celsius)),
            Cell(quantity("hold_seconds", row.hold_seconds), key=number_key(row.hold_seconds)),
            Cell(printable(row.source), worded("confidence", row.confidence)),
        )
    )


def _limit(row: ProgramFigureRow) -> Line:
    value = unknown() if row.value is None else quantity(row.figure, row.value)
    return Line(
        (
            Cell(worded("programs_figure", row.figure)),
            Cell("" if row.figure == "lower_edge" else value),
            Cell(printable(row.source), worded("confidence", row.confidence)),
        )
    )


def _heads(*names: str) -> tuple[Column, ...]:
    return tuple(Column(worded("column", name)) for name in names)
