"""Lists beside the pages, for a spreadsheet: every file, and every line held back."""

from pathlib import Path

from pipeline.base.csv_text import write_csv
from pipeline.render.tables.tables import Tables


def write_balance(tables: Tables, path: Path, site_id: str | None = None) -> Path:
    """Write every file ever received, of one site or of all, with what became of its records."""
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
        for file in tables.each_file(site_id)
    )  # fmt: skip
    return write_csv(path, columns, rows)


def write_held(tables: Tables, path: Path) -> Path:
    """Write every rule that held a line back; what stood there is left out: others read it too."""
    columns = ("site_id", "feed", "path", "content_sha256", "table", "line", "rule", "column",
               "message")  # fmt: skip
    rows = (
        (
            row.site_id, row.feed, row.path, row.content_sha, row.table_name, row.line,
            row.rule_id, row.column_name or "", row.message,
        )
        for row in tables.each_held()
    )  # fmt: skip
    return write_csv(path, columns, rows)
