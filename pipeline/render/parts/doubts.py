"""What the logs contradict or leave in doubt: clocks, counters, copies, spore tests, serials."""

from pipeline.base.message import spoken
from pipeline.base.offset import offset
from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import site_name, unit_cell
from pipeline.render.parts.stopped import first_of
from pipeline.render.scope import Scope
from pipeline.render.tables.doubts import ClockRow, ConflictRow, CounterRow, OrphanRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import count, day, out_of, printable, unknown, worded

MOST = 200
"""Rows shown of each table; how many more there are is said above it."""


def clocks_section(scope: Scope) -> Section:
    """Clocks that look wrong, with the evidence; no time was moved because of them."""
    rows = scope.tables.clocks
    lines = [_clock_line(scope, row) for row in rows]
    table = _table("clocks", lines, len(rows), "unit", "since", "until", "clock", "how", "evidence")
    lead = phrase("doubts.clocks_lead", len(rows))
    return Section("clocks", phrase("doubts.clocks_title"), lead,
                   notes=(phrase("doubts.clocks_note"),), tables=(table,))  # fmt: skip


def counters_section(scope: Scope) -> Section:
    """Counters that began anew, and why as far as is known."""
    rows = scope.tables.counters
    lines = [_counter_line(scope, row) for row in rows]
    table = _table("counters", lines, len(rows), "unit", "since", "counter_before",
                   "counter_after", "how")  # fmt: skip
    lead = phrase("doubts.counters_lead", len(rows))
    return Section("counters", phrase("doubts.counters_title"), lead,
                   notes=(phrase("doubts.counters_note"),), tables=(table,))  # fmt: skip


def conflicts_section(scope: Scope) -> Section:
    """Values in which copies of one cycle or test differ: both are kept, the later file is used."""
    rows = scope.tables.conflicts
    lines = [_conflict_line(scope, row) for row in rows[:MOST]]
    table = _table("conflicts", lines, len(rows), "unit", "what", "column", "used_value",
                   "other_value")  # fmt: skip
    lead = phrase("doubts.conflicts_lead", len(rows))
    return Section("conflicts", phrase("doubts.conflicts_title"), lead,
                   notes=(phrase("doubts.conflicts_note"),), tables=(table,))  # fmt: skip


def orphans_section(scope: Scope) -> Section:
    """Spore tests that no cycle bears out, and those of which it cannot be told."""
    rows = scope.tables.orphans
    certain = sum(bool(row.is_orphan) for row in rows)
    lines = [_orphan_line(scope, row) for row in rows[:MOST]]
    table = _table("orphans", lines, len(rows), "unit", "test", "exposed", "cycle", "how")
    lead = phrase("doubts.orphans_lead", certain)
    if len(rows) > certain:
        lead = f"{lead} {phrase('doubts.orphans_untold', len(rows) - certain)}"
    return Section("orphans", phrase("doubts.orphans_title"), lead,
                   notes=(phrase("doubts.orphans_note"),), tables=(table,))  # fmt: skip


def unregistered_section(scope: Scope) -> Section:
    """Serials of the logs that stand in no register: loaners, new units and slips."""
    rows = scope.tables.unregistered
    lines = [
        Line(
            (
                Cell(printable(row.unit_serial) if row.unit_serial else phrase("doubts.no_serial")),
                Cell(site_name(scope.tables, row.site_id)),
                Cell(count(row.row_count), key=str(row.row_count)),
                Cell(count(row.cycle_count), key=str(row.cycle_count)),
            )
        )
        for row in rows[:MOST]
    ]
    table = _table("unregistered", lines, len(rows), "serial", "site", "lines_held", "cycles_held")
    lead = phrase("doubts.unregistered_lead", len(rows))
    return Section("unregistered", phrase("doubts.unregistered_title"), lead,
                   notes=(phrase("doubts.unregistered_note"),), tables=(table,))  # fmt: skip


def unknown_stops_table(scope: Scope) -> Table:
    """Stops for no known reason by feed and site: texts that a feed does not map show here."""
    rows = scope.tables.unknown_stops
    lines = [
        Line(
            (
                Cell(printable(row.feed)),
                Cell(site_name(scope.tables, row.site_id)),
                Cell(out_of(row.unknown_count, row.stopped_count), key=str(row.unknown_count)),
            )
        )
        for row in rows[:MOST]
    ]
    return _table("unknown_stops", lines, len(rows), "feed", "site", "no_reason")


def _table(name: str, lines: list[Line], total: int, *columns: str) -> Table:
    shown = tuple(lines[:MOST])
    caption = first_of(worded("doubts_table", name), len(shown), total)
    heads = tuple(Column(worded("column", column)) for column in columns)
    uid = f"{name.replace('_', '-')}-table"
    return Table(uid, caption, heads, shown, phrase("doubts.none"), is_sortable=True)


def _unit(scope: Scope, unit_serial: str, site_id: str) -> Cell:
    unit = scope.tables.units.get(unit_serial)
    if unit:
        return unit_cell(scope.tables, unit, with_site=True)
    return Cell(printable(unit_serial), site_name(scope.tables, site_id))


def _clock_line(scope: Scope, row: ClockRow) -> Line:
    return Line(
        (
            _unit(scope, row.unit_serial, row.site_id),
            Cell(day(row.from_on), key=row.from_on.isoformat()),
            Cell(day(row.to_on) if row.to_on else phrase("doubts.lasts")),
            Cell(spoken(offset(row.suspected_offset_minutes))),
            Cell(worded("clock_evidence", row.evidence)),
            Cell(worded("clock_strength", row.strength)),
        )
    )


def _counter_line(scope: Scope, row: CounterRow) -> Line:
    missing = phrase("doubts.missing", row.missing_count) if row.missing_count else ""
    return Line(
        (
            _unit(scope, row.unit_serial, row.site_id),
            Cell(day(row.from_utc.date()), key=row.from_utc.isoformat()),
            Cell(count(row.last_number), key=str(row.last_number)),
            Cell(count(row.from_number), missing, key=str(row.from_number)),
            Cell(worded("counter_reason", row.reason)),
        )
    )


def _conflict_line(scope: Scope, row: ConflictRow) -> Line:
    what = phrase(f"doubts.of_{row.kind}", name=printable(row.name), day=day(row.told_on))
    return Line(
        (
            _unit(scope, row.unit_serial, row.site_id),
            Cell(what, key=row.told_on.isoformat()),
            Cell(printable(row.column_name)),
            Cell(printable(row.used_value), _place(row.used_path, row.used_line)),
            Cell(printable(row.other_value), _place(row.other_path, row.other_line)),
        )
    )


def _orphan_line(scope: Scope, row: OrphanRow) -> Line:
    number = unknown() if row.cycle_number is None else count(row.cycle_number)
    near = "" if row.near_number is None else phrase("doubts.near", n=count(row.near_number))
    return Line(
        (
            _unit(scope, row.unit_serial, row.site_id),
            Cell(printable(row.test_id), _place(row.path, row.line)),
            Cell(day(row.exposed_on), key=row.exposed_on.isoformat()),
            Cell(number, near),
            Cell(worded("orphan_reason", row.orphan_reason), worded("test_state", row.state)),
        )
    )


def _place(path: str, line: int) -> str:
    return phrase("doubts.place", file=printable(path), line=count(line))
