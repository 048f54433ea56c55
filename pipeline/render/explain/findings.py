"""The lines behind all findings at once: the first few of each, and how many there are.

Asked kind by kind, because a query a finding would read all cycles of the network a thousand times.
"""

import re
from dataclasses import dataclass
from datetime import date

import duckdb

from pipeline.render.explain.behind import Line, told_of
from pipeline.render.tables.reader import grouped
from pipeline.warehouse.statements import statement

MOST_LINES = 20
"""Lines of one finding that a page shows; `holdtime explain` prints them all."""
_SUBJECTS = ("unit_serial", "site_id")


@dataclass(frozen=True, slots=True)
class Behind:
    """One line behind a finding, among so many that tell of it."""

    finding_id: str
    counted_count: int
    line: Line


def behind_findings(
    con: duckdb.DuckDBPyConnection, days: dict[str, date]
) -> dict[str, list[Behind]]:
    """The lines that tell of each finding, latest first; the same as explain.behind gives of it."""
    rows = [
        row
        for kind, told in told_of("findings").items()
        for subject in _SUBJECTS
        for row in _of_kind(con, kind, told, subject, days)
    ]
    return grouped(rows, lambda row: row.finding_id)


def _of_kind(
    con: duckdb.DuckDBPyConnection,
    kind: str,
    told: dict[str, str],
    subject: str,
    days: dict[str, date],
) -> list[Behind]:
    select = f"""
        WITH finding AS (
            SELECT
                finding_id,
                unit_serial AS finding_unit,
                coalesce(unit_serial, site_id) AS subject_id,
                since_on AS finding_since_on,
                counted_on AS finding_counted_on,
                task AS finding_task,
            FROM measure.finding
            WHERE kind = $kind AND (unit_serial IS NULL) = $is_of_site
        ),
        told AS (
            SELECT *
            FROM finding
            JOIN ({statement("explain", told["rows"]).text}) AS told
                ON told.{subject} = finding.subject_id
            WHERE {_of_each(told.get("of", "true"))} AND {_of_each(told["counted"])}
        )
        SELECT
            told.finding_id,
            count(*) OVER (PARTITION BY told.finding_id) AS counted_count,
            told.unit_serial,
            told.thing,
            true AS is_counted,
            told.happened_at,
            told.word,
            told.code,
            told.reason,
            file.path,
            told.line,
            file.content_sha,
        FROM told
        LEFT JOIN stage.file AS file USING (file_id)
        QUALIFY row_number() OVER (
            PARTITION BY told.finding_id
            ORDER BY told.happened_at DESC, told.thing, file.path, told.line
        ) <= {MOST_LINES}
        ORDER BY told.finding_id, told.happened_at DESC, told.thing, file.path, told.line
    """
    values = {**days, "kind": kind, "is_of_site": subject == "site_id"}
    # DuckDB refuses a value that no parameter asks for.
    asked = set(re.findall(r"\$([a-z_]+)", select))
    found = con.execute(select, {name: values[name] for name in sorted(asked)}).fetchall()
    return [Behind(row[0], row[1], Line(*row[2:])) for row in found]


def _of_each(condition: str) -> str:
    """A condition on one finding's lines, as one on those of all findings."""
    return re.sub(r"\$(since_on|counted_on|task)\b", r"finding_\1", f"({condition})")
