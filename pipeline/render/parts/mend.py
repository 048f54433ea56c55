"""What a clinic may mend in its own logs: lines held back, with what stood there."""

from collections import defaultdict

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import site_name
from pipeline.render.paths import BALANCE, HELD
from pipeline.render.scope import Scope
from pipeline.render.tables.evidence import FileRow, HeldRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import as_declared, count, printable, worded

MOST_HELD = 50


def mend_section(scope: Scope) -> Section:
    """The lines of this site that were held back; the only page that quotes what was found."""
    rows = scope.tables.held.get(scope.subject_id, [])
    lines = {(row.content_sha, row.table_name, row.line) for row in rows}
    notes = [phrase("mend.note", file=HELD)]
    if len(rows) > MOST_HELD:
        notes.insert(0, phrase("mend.more", len(rows) - MOST_HELD, file=HELD))
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
        summary=phrase("mend.summary", len(lines)) if lines else "",
    )
    lead = phrase("mend.lead", len(lines))
    return Section(
        "mend", phrase("mend.title"), lead, notes=(*notes, *as_declared()), tables=(table,)
    )


def balance_section(scope: Scope) -> Section:
    """Where this site's figures come from: its feeds, and what became of their records."""
    files = scope.tables.files_of_site.get(scope.subject_id, [])
    lead = phrase("balance.site_lead", len(files), file=BALANCE)
    table = balance_table(files)
    return Section("sources", phrase("balance.site_title"), lead, tables=(table,))


def balance_table(files: list[FileRow]) -> Table:
    """Records by feed: read = used + held + duplicate."""
    groups: dict[str, list[FileRow]] = defaultdict(list)
    for file in files:
        groups[file.feed].append(file)
    lines = tuple(_balance_line(groups[feed], ()) for feed in sorted(groups))
    columns = _balance_columns(())
    return Table("balance", phrase("balance.table"), columns, lines, phrase("balance.none"),
                 is_sortable=True)  # fmt: skip


def balance_by_site_table(scope: Scope, files: list[FileRow]) -> Table:
    """The same by feed and site, folded away."""
    groups: dict[tuple[str, str], list[FileRow]] = defaultdict(list)
    for file in files:
        groups[file.feed, file.site_id].append(file)
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


def _balance_line(files: list[FileRow], place: tuple[Cell, ...]) -> Line:
    read, used, held, duplicate = (
        sum(getattr(file, column) for file in files)
        for column in ("read_count", "used_count", "held_count", "duplicate_count")
    )
    rejected = sum(file.state == "rejected" for file in files)
    balances = phrase("balance.yes" if read == used + held + duplicate else "balance.no")
    numbers = (len(files), rejected, read, used, held, duplicate)
    return Line(
        (
            Cell(printable(files[0].feed), worded("feed_kind", files[0].kind)),
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
