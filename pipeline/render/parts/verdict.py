"""Cycles against what their programs ask: of a unit, of a scope, and what cannot be judged."""

from collections import Counter

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import number_key, site_name, unit_cell
from pipeline.render.parts.periods import source_cell
from pipeline.render.parts.programs import table_sentence
from pipeline.render.parts.stopped import MOST_LINES, first_of
from pipeline.render.scope import Scope
from pipeline.render.tables.register import SiteRow, UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.tables.verdict import BrokenRow, VerdictRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import count, instant, out_of, printable, unknown, worded

VERDICTS = ("meets", "breaks", "cannot_tell")
MOST_LOADS = 50
_IN_SECONDS = ("hold_too_short", "hold_not_shown", "drying_too_short")


def amount_words(broken: str, amount: float) -> str:
    """By how much a limit was missed: whole seconds or tenths, never rounded to none."""
    by = f"{max(amount, 1):,.0f}" if broken in _IN_SECONDS else f"{max(amount, 0.1):.1f}"
    return phrase(f"broken.{broken}", by=by)


def verdict_section(tables: Tables, site: SiteRow, unit: UnitRow, number: int) -> Section:
    """The numbered section of a unit's page: x of n meet, break, cannot be told, and why."""
    rows = tables.verdicts.get(unit.unit_serial, [])
    title = phrase("judged.title", number=str(number))
    if not rows:
        return Section("judged", title, phrase("judged.none"))
    broken = tables.broken.get(unit.unit_serial, [])
    notes = (
        phrase("judged.note"),
        table_sentence(tables, site.practice),
        phrase("trace.assumed", altitude=f"{site.altitude_m:,.0f}"),
    )
    return Section(
        "judged",
        title,
        _lead(rows),
        notes=notes,
        tables=(_loads_table(broken), _program_table(rows), _reason_table(rows)),
    )


def judged_section(scope: Scope) -> Section:
    """The units of a scope that ran cycles not as asked, or whose cycles cannot be told."""
    tables = scope.tables
    counted = [(unit, _counts(tables.verdicts.get(unit.unit_serial, []))) for unit in scope.units]
    total = sum((counts for _, counts in counted), Counter[str]())
    told = [(u, c) for u, c in counted if c["breaks"] or c["cannot_tell"]]
    told.sort(key=lambda pair: (-pair[1]["breaks"], -pair[1]["cannot_tell"]))
    lines = tuple(
        Line((unit_cell(tables, unit, with_site=True), *_cells(counts)))
        for unit, counts in told[:MOST_LINES]
    )
    caption = first_of(phrase("judged.by_unit"), len(lines), len(told))
    columns = (Column(phrase("column.unit")), *_columns())
    table = Table("judged-units", caption, columns, lines, phrase("judged.all_met"))
    lead = phrase("judged.none") if not total else _sentence(total)
    return Section("judged", phrase("judged.scope_title"), lead,
                   notes=(phrase("judged.note"),), tables=(table,))  # fmt: skip


def unjudged_section(scope: Scope) -> Section:
    """What nobody has said enough about to judge it, and logs that print what was set."""
    tables = scope.tables
    rows, echoes, repeats = tables.unjudged, tables.echoes, tables.repeats
    programs = tuple(
        Line(
            (
                Cell(_program(row.program), worded("air_removal", row.air_removal)),
                Cell(printable(row.practice)),
                Cell(worded("cannot_tell", row.code)),
                Cell(count(row.unit_count), key=number_key(row.unit_count)),
                Cell(count(row.cycle_count), key=number_key(row.cycle_count)),
            )
        )
        for row in rows
    )
    echoed = tuple(
        Line(
            (
                _named(tables, row.unit_serial, row.site_id),
                Cell(_program(row.program)),
                Cell(count(row.cycle_count), key=number_key(row.cycle_count)),
            )
        )
        for row in echoes
    )
    repeated = tuple(
        Line(
            (
                _named(tables, row.unit_serial, row.site_id),
                Cell(_program(row.program)),
                Cell(count(row.cycle_count), key=number_key(row.cycle_count)),
                Cell(count(row.longest_count), key=number_key(row.longest_count)),
            )
        )
        for row in repeats
    )
    first = _heads("program", "practice", "how", "units", "cycles")
    second = _heads("unit", "program", "cycles")
    third = _heads("unit", "program", "cycles", "in_a_row")
    leads = (
        phrase("judged.unjudged_lead", len(rows)),
        phrase("judged.echo_lead", len(echoes)),
        phrase("judged.repeat_lead", len(repeats)),
    )
    return Section(
        "unjudged",
        phrase("judged.unjudged_title"),
        " ".join(leads),
        notes=(phrase("judged.unjudged_note"),),
        tables=(
            Table("unjudged-programs", phrase("judged.unjudged_table"), first, programs,
                  phrase("doubts.none")),
            Table("echoes", phrase("judged.echo_table"), second, echoed, phrase("doubts.none")),
            Table("repeats", phrase("judged.repeat_table"), third, repeated, phrase("doubts.none")),
        ),
    )  # fmt: skip


def untold(scope: Scope) -> int:
    """Finished cycles of a scope of which it cannot be told whether they were as asked."""
    rows = (scope.tables.verdicts.get(unit.unit_serial, []) for unit in scope.units)
    return sum(_counts(of_unit)["cannot_tell"] for of_unit in rows)


def _counts(rows: list[VerdictRow]) -> Counter[str]:
    counts: Counter[str] = Counter()
    for row in rows:
        counts[row.verdict] += row.cycle_count
    return counts


def _lead(rows: list[VerdictRow]) -> str:
    from_readings = sum(row.cycle_count for row in rows if row.judged_from == "readings")
    total = sum(row.cycle_count for row in rows)
    how = phrase("judged.from", readings=out_of(from_readings, total))
    return f"{_sentence(_counts(rows))} {how}"


def _sentence(counts: Counter[str]) -> str:
    total = sum(counts.values())
    parts = [phrase(f"judged_count.{verdict}", counts[verdict]) for verdict in VERDICTS]
    return phrase(
        "judged.lead", total=count(total), meets=parts[0], breaks=parts[1], untold=parts[2]
    )


def _columns() -> tuple[Column, ...]:
    return tuple(Column(worded("judged_column", name), is_number=True) for name in VERDICTS)


def _cells(counts: Counter[str]) -> tuple[Cell, ...]:
    total = sum(counts.values())
    return tuple(
        Cell(out_of(counts[name], total), key=number_key(counts[name])) for name in VERDICTS
    )


def _program_table(rows: list[VerdictRow]) -> Table:
    programs = sorted({row.program or "" for row in rows})
    lines = tuple(
        Line(
            (Cell(_program(name)), *_cells(_counts([r for r in rows if (r.program or "") == name])))
        )
        for name in programs
    )
    columns = (Column(phrase("column.program")), *_columns())
    return Table(
        "judged-programs", phrase("judged.by_program"), columns, lines, phrase("table.none")
    )


def _reason_table(rows: list[VerdictRow]) -> Table:
    counts: Counter[tuple[str, str, str]] = Counter()
    for row in rows:
        if row.verdict != "meets":
            counts[row.verdict, row.code, row.judged_from] += row.cycle_count
    lines = tuple(
        Line(
            (
                Cell(_code(verdict, code), worded("judged_from", judged_from)),
                Cell(worded("judged_column", verdict)),
                Cell(count(cycles), key=number_key(cycles)),
            )
        )
        for (verdict, code, judged_from), cycles in sorted(
            counts.items(), key=lambda pair: (-pair[1], pair[0])
        )
    )
    columns = _heads("reason", "verdict", "cycles")
    return Table(
        "judged-reasons", phrase("judged.by_reason"), columns, lines, phrase("judged.all_met")
    )


def _loads_table(rows: list[BrokenRow]) -> Table:
    lines = tuple(_load_line(row) for row in rows[:MOST_LOADS])
    caption = first_of(phrase("judged.loads"), len(lines), len(rows))
    columns = _heads("cycle", "what", "load", "released", "line")
    return Table("judged-loads", caption, columns, lines, phrase("judged.no_loads"))


def _load_line(row: BrokenRow) -> Line:
    number = unknown() if row.cycle_number is None else count(row.cycle_number)
    load = printable(row.load_id) if row.load_id else unknown()
    kind = f"{printable(row.load_kind)}; " if row.load_kind else ""
    return Line(
        (
            Cell(number, instant(row.started_local), row.started_local.isoformat()),
            Cell(amount_words(row.broken, row.broken_by), worded("judged_from", row.judged_from)),
            Cell(load, f"{kind}{_program(row.program)}"),
            Cell(worded("released_word", row.released) if row.released else unknown()),
            source_cell(row.path, row.content_sha, row.line),
        )
    )


def _code(verdict: str, code: str) -> str:
    return worded("limit" if verdict == "breaks" else "cannot_tell", code)


def _program(name: str | None) -> str:
    return worded("program", name) if name else phrase("judged.no_program")


def _heads(*names: str) -> tuple[Column, ...]:
    return tuple(Column(worded("column", name)) for name in names)


def _named(tables: Tables, unit_serial: str, site_id: str) -> Cell:
    unit = tables.units.get(unit_serial)
    if unit:
        return unit_cell(tables, unit, with_site=True)
    return Cell(printable(unit_serial), site_name(tables, site_id))
