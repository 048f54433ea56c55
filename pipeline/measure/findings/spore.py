"""Findings about spore tests: growth, overdue, and results that do not come. All are facts."""

from datetime import timedelta
from typing import Any

import duckdb

from pipeline.base.phrases import phrase
from pipeline.measure.findings.finding import Finding
from pipeline.measure.tables import read
from pipeline.measure.window import Window


def spore_findings(con: duckdb.DuckDBPyConnection, window: Window) -> list[Finding]:
    """One finding a unit at most: a repeat after growth settles what is overdue as well."""
    rows = read(
        con,
        """
        WITH doubt AS (
            SELECT unit_serial, count(*) AS doubt_count,
            FROM fact.lookback
            WHERE is_open
            GROUP BY unit_serial
        )
        SELECT
            due.*,
            coalesce(doubt.doubt_count, 0) AS doubt_count,
            $as_of_on - due.pending_since_on AS days_pending,
        FROM fact.spore_due AS due
        LEFT JOIN doubt USING (unit_serial)
        WHERE due.reason IN ('growth', 'overdue', 'result_late')
        ORDER BY due.unit_serial
        """,
        as_of_on=window.as_of_on,
    )
    made = {"growth": _growth, "overdue": _overdue, "result_late": _pending}
    return [made[row["reason"]](row, window) for row in rows.iter_rows(named=True)]


def _growth(row: dict[str, Any], window: Window) -> Finding:
    return Finding(
        "growth",
        row["state"],
        row["site_id"],
        row["unit_serial"],
        row["growth_on"],
        phrase("finding.growth.why", row["doubt_count"]),
        phrase("finding.growth.next_step"),
        weight=row["doubt_count"],
    )


def _overdue(row: dict[str, Any], window: Window) -> Finding:
    form = "why" if row["last_valid_on"] else "never"
    cycles = phrase("finding.spore_overdue.cycles", row["cycles_while_overdue"])
    return Finding(
        "spore_overdue",
        row["state"],
        row["site_id"],
        row["unit_serial"],
        window.to_on - timedelta(days=row["days_overdue"]),
        phrase(f"finding.spore_overdue.{form}", row["days_overdue"], cycles=cycles),
        phrase("finding.spore_overdue.next_step"),
        weight=row["days_overdue"],
    )


def _pending(row: dict[str, Any], window: Window) -> Finding:
    return Finding(
        "spore_pending",
        row["state"],
        row["site_id"],
        row["unit_serial"],
        row["pending_since_on"],
        phrase("finding.spore_pending.why", row["days_pending"]),
        phrase("finding.spore_pending.next_step"),
        weight=row["days_pending"],
    )
