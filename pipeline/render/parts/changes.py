"""What is new and what is over since the end of last month."""

from collections import Counter
from datetime import timedelta

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import name_key, site_name
from pipeline.render.parts.findings import MOST_OF_NETWORK
from pipeline.render.parts.stopped import first_of
from pipeline.render.paths import unit_page
from pipeline.render.scope import Scope
from pipeline.render.tables.changes import ChangeRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import day, printable, worded

CHANGES = ("new", "still_open", "closed", "not_seen")
"""In the order in which the sentence tells them; those that are still open are counted only."""


def changes_section(scope: Scope) -> Section:
    """Findings that came and went in a scope; the list above has those that are open."""
    site_ids = {site.site_id for site in scope.sites}
    rows = [row for row in scope.tables.changes if row.site_id in site_ids]
    counts = Counter(row.change for row in rows)
    before = scope.tables.as_of.replace(day=1) - timedelta(days=1)
    changed = [row for row in rows if row.change != "still_open"]
    shown = changed[:MOST_OF_NETWORK] if scope.level == "network" else changed
    table = Table(
        "changes",
        first_of(phrase("changes.table"), len(shown), len(changed)),
        (
            Column(phrase("changes.what")),
            Column(phrase("column.unit")),
            Column(phrase("changes.why")),
            Column(phrase("changes.since"), is_wide_only=True),
        ),
        tuple(_line(scope.tables, row) for row in shown),
        phrase("changes.none"),
        summary=phrase("changes.summary", len(changed)) if shown else "",
        is_sortable=len(shown) > 1,
    )
    return Section(
        "changes",
        phrase("changes.title", day=day(before)),
        " ".join(phrase(f"changes.count.{change}", counts[change]) for change in CHANGES),
        tables=(table,),
    )


def _line(tables: Tables, row: ChangeRow) -> Line:
    unit = tables.units.get(row.unit_serial or "")
    place = site_name(tables, row.site_id)
    name = printable(unit.label) if unit else place
    key = name_key(f"{place} {name}")
    return Line(
        (
            Cell(worded("change", row.change), worded("kind", row.kind), row.change),
            Cell(name, place if unit else "", key, unit_page(unit.unit_serial) if unit else ""),
            Cell(printable(row.why)),
            Cell(day(row.since_on), key=row.since_on.isoformat()),
        )
    )
