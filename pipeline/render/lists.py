"""Lists beside the pages, for a spreadsheet: every file, and every line held back."""

from pipeline.base.csv_text import csv_bytes
from pipeline.render.tables.tables import Tables


def balance_list(tables: Tables, site_id: str | None = None) -> bytes:
    """Every file ever received, of one site or of all, with what became of its records."""
    columns = (
        "feed", "kind", "site_id", "path", "content_sha256", "lines", "layout_lines", "read",
        "used", "held", "duplicate", "state", "reason",
    )  # fmt: skip
    rows = (
        (
            file.feed, file.kind, file.site_id, file.path, file.content_sha, file.line_count,
            file.layout_count, file.read_count, file.used_count, file.held_count,
            file.duplicate_count, file.state, file.reason or "",
        )
        for file in tables.files
        if site_id in (None, file.site_id)
    )  # fmt: skip
    return csv_bytes(columns, rows)


def held_list(tables: Tables) -> bytes:
    """Every rule that held a line back; what stood there is left out, as others read this list."""
    columns = ("site_id", "feed", "path", "content_sha256", "table", "line", "rule", "column",
               "message")  # fmt: skip
    rows = (
        (
            row.site_id, row.feed, row.path, row.content_sha, row.table_name, row.line,
            row.rule_id, row.column_name or "", row.message,
        )
        for site_id in sorted(tables.held)
        for row in tables.held[site_id]
    )  # fmt: skip
    return csv_bytes(columns, rows)
