"""What a clinic may mend in its own logs: lines held back, with what stood there."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import site_name
from pipeline.render.paths import BALANCE, HELD
from pipeline.render.scope import Scope
from pipeline.render.tables.evidence import BalanceRow, HeldRow
from pipeline.render.tables.reader import grouped
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import as_declared, count, printable, worded

MOST_HELD = 50


def mend_section(scope: Scope) -> Section:
    """The lines of this site that were held back; the only page that quotes what was found."""
    rows = scope.tables.held.get(scope.subject_id, [])
    held = scope.tables.held_sites.get(scope.subject_id)
    line_count, rule_count = (held.line_count, held.rule_count) if held else (0, 0)
    notes = [phrase("mend.note", file=HELD)]
    if rule_count > MOST_HELD:
        notes.insert(0, phrase("mend.more", rule_count - MOST_HELD, file=HELD))
    table = Table(
        "held",
        phrase("mend.table"),
        (
            Column(phrase("column.file")),
            Column(phrase("column.line"), is_number=True),
            Column(phrase("column.column")),
            Column(phrase("column.found")),
            Column(phrase("column.message")),
        ),
        tuple(_line(row) for row in rows[:MOST_HELD]),
        phrase("mend.none"),
        summary=phrase("mend.summary", line_count) if held else "",
    )
    lead = phrase("mend.lead", line_count)
    return Section(
        "mend", phrase("mend.title"), lead, notes=(*notes, *as_declared()), tables=(table,)
    )


def balance_section(scope: Scope) -> Section:
    """Where this site's figures come from: its feeds, and what became of their records."""
    rows = scope.tables.balances_of_site.get(scope.subject_id, [])
    lead = phrase("balance.site_lead", sum(row.file_count for row in rows), file=BALANCE)
    table = balance_table(rows)
    return Section("sources", phrase("balance.site_title"), lead, tables=(table,))


def balance_table(rows: list[BalanceRow]) -> Table:
    """Records by feed: read = used + held + duplicate."""
    groups = grouped(rows, lambda row: row.feed)
    lines = tuple(_balance_line(groups[feed], ()) for feed in sorted(groups))
    columns = _balance_columns(())
    return Table("balance", phrase("balance.table"), columns, lines, phrase("balance.none"),
                 is_sortable=True)  # fmt: skip


def balance_by_site_table(scope: Scope, rows: list[BalanceRow]) -> Table:
    """The same by feed and site, folded away."""
    groups = grouped(rows, lambda row: (row.feed, row.site_id))
    lines = tuple(
        _balance_line(groups[feed, site_id], (Cell(site_name(scope.tables, site_id)),))
        for feed, site_id in sorted(groups)
    )
    columns = _balance_columns((Column(phrase("column.site")),))
    summary = phrase("balance.by_site", len(lines)) if lines else ""
    return Table("balance-sites", phrase("balance.table"), columns, lines,
                 phrase("balance.none"), summary, is_sortable=True)  # fmt: skip


def _balance_columns(place: tuple[Column, ...]) -> tuple[Column, ...]:
    return (
        Column(phrase("column.feed")),
        *place,
        Column(phrase("column.files"), is_number=True),
        Column(phrase("column.set_aside"), is_number=True, is_wide_only=True),
        Column(phrase("column.read"), is_number=True),
        Column(phrase("column.used_rows"), is_number=True),
        Column(phrase("column.held"), is_number=True),
        Column(phrase("column.duplicate"), is_number=True),
        Column(phrase("column.balances"), is_wide_only=True),
    )


def _balance_line(rows: list[BalanceRow], place: tuple[Cell, ...]) -> Line:
    files, rejected, read, used, held, duplicate = (
        sum(getattr(row, column) for row in rows)
        for column in (
            "file_count", "rejected_count", "read_count", "used_count", "held_count",
            "duplicate_count",
        )
    )  # fmt: skip
    balances = phrase("balance.yes" if read == used + held + duplicate else "balance.no")
    numbers = (files, rejected, read, used, held, duplicate)
    return Line(
        (
            Cell(printable(rows[0].feed), worded("feed_kind", rows[0].kind)),
            *place,
            *(Cell(count(number), key=str(number)) for number in numbers),
            Cell(balances),
        )
    )


def _line(row: HeldRow) -> Line:
    return Line(
        (
            Cell(printable(row.path), row.content_sha[:12]),
            Cell(count(row.line)),
            Cell(printable(row.column_name) if row.column_name else phrase("mend.whole_line"),
                 printable(row.rule_id)),
            Cell(printable(row.found) if row.found else phrase("mend.nothing_found")),
            Cell(printable(row.message)),
        )
    )  # fmt: skip
