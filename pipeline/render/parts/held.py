"""Files set aside and lines held back, for the whole network, without quoting what stood there."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import site_name
from pipeline.render.parts.stopped import first_of
from pipeline.render.paths import HELD
from pipeline.render.scope import Scope
from pipeline.render.tables.evidence import HeldRow, HeldSiteRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import as_declared, count, printable

MOST_HELD, MOST_HELD_OF_A_SITE = 6_000, 200
MOST_FILES = 200
"""Lines shown; the lists beside the page have them all."""


def held_files_table(scope: Scope) -> Table:
    """Files of which some record was held; every other file is in the list beside the page."""
    files = [file for file in scope.tables.told_files if file.held_count]
    total = sum(row.held_file_count for row in scope.tables.balances)
    lines = tuple(
        Line(
            (
                Cell(printable(file.path), file.content_sha[:12]),
                Cell(site_name(scope.tables, file.site_id), printable(file.feed)),
                *(
                    Cell(count(number), key=str(number))
                    for number in (
                        file.read_count, file.used_count, file.held_count, file.duplicate_count,
                    )
                ),
            )
        )
        for file in files[:MOST_FILES]
    )  # fmt: skip
    columns = (
        Column(phrase("column.file")),
        Column(phrase("column.site")),
        Column(phrase("column.read"), is_number=True),
        Column(phrase("column.used_rows"), is_number=True),
        Column(phrase("column.held"), is_number=True),
        Column(phrase("column.duplicate"), is_number=True),
    )
    caption = first_of(phrase("data.files_table"), len(lines), total)
    summary = phrase("data.files_summary", total) if total else ""
    none = phrase("data.no_files_held")
    return Table("files-held", caption, columns, lines, none, summary, is_sortable=True)


def rejected_section(scope: Scope) -> Section:
    """Files that could not be read as declared, each with its reason."""
    files = [file for file in scope.tables.told_files if file.state == "rejected"]
    total = sum(row.rejected_count for row in scope.tables.balances)
    lines = tuple(
        Line(
            (
                Cell(printable(file.path), file.content_sha[:12]),
                Cell(site_name(scope.tables, file.site_id), printable(file.feed)),
                Cell(printable(file.reason or ""), is_english=True),
            )
        )
        for file in files[:MOST_FILES]
    )
    columns = (
        Column(phrase("column.file")),
        Column(phrase("column.site")),
        Column(phrase("column.why_set_aside")),
    )
    table = Table(
        "rejected",
        first_of(phrase("data.rejected_table"), len(lines), total),
        columns,
        lines,
        phrase("data.no_rejected"),
    )
    lead = phrase("data.rejected_lead", total)
    return Section("rejected-files", phrase("data.rejected_title"), lead, notes=as_declared(),
                   tables=(table,))  # fmt: skip


def held_section(scope: Scope) -> Section:
    """Lines held back, site by site; what stood there is quoted on the site's own page only."""
    held = scope.tables.held_sites.values()
    order = sorted(held, key=lambda one: (site_name(scope.tables, one.site_id), one.site_id))
    # Of each site the same number, so that the page of a large network opens on a phone too.
    most = min(MOST_HELD_OF_A_SITE, max(MOST_HELD // max(len(order), 1), 1))
    tables = tuple(_held_table(scope, one, place, most) for place, one in enumerate(order, start=1))
    return Section(
        "held-lines",
        phrase("data.held_title"),
        phrase("data.held_lead", sum(row.held_count for row in scope.tables.balances)),
        notes=(phrase("data.held_note", file=HELD), *as_declared()),
        tables=tables,
    )


def _held_table(scope: Scope, held: HeldSiteRow, place: int, most: int) -> Table:
    name = site_name(scope.tables, held.site_id)
    shown = scope.tables.held.get(held.site_id, [])[:most]
    summary = phrase("data.held_summary", held.rule_count, site=name)
    if held.rule_count > len(shown):
        more = phrase("data.held_more", held.rule_count - len(shown), file=HELD)
        summary = f"{summary} {more}"
    columns = (
        Column(phrase("column.file")),
        Column(phrase("column.line"), is_number=True),
        Column(phrase("column.rule")),
        Column(phrase("column.message")),
    )
    lines = tuple(_held_line(row) for row in shown)
    return Table(f"held-{place}", name, columns, lines, "", summary)


def _held_line(row: HeldRow) -> Line:
    column = printable(row.column_name) if row.column_name else phrase("mend.whole_line")
    return Line(
        (
            Cell(printable(row.path), row.content_sha[:12]),
            Cell(count(row.line)),
            Cell(printable(row.rule_id), column),
            Cell(printable(row.message)),
        )
    )
