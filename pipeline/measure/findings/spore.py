"""Findings about spore tests: growth, overdue, and results that do not come. All are facts."""

from datetime import timedelta
from typing import Any

import duckdb

from pipeline.base.message import message
from pipeline.measure.findings.finding import Finding
from pipeline.measure.findings.implant import implant_findings
from pipeline.measure.findings.incident import event_findings, incident_findings
from pipeline.measure.tables import read
from pipeline.measure.window import Window


def spore_findings(con: duckdb.DuckDBPyConnection, window: Window) -> list[Finding]:
    """Everything about spore tests that needs a person.

    Of a unit with growth nothing else is told: a repeat after growth settles what is overdue as
    well. A test that was not done and a result that does not come are two findings.
    """
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
        WHERE due.reason IN ('growth', 'overdue') OR due.days_result_late > 0
        ORDER BY due.unit_serial
        """,
        as_of_on=window.as_of_on,
    )
    found = []
    for row in rows.iter_rows(named=True):
        if row["reason"] == "growth":
            found.append(_growth(row))
            continue
        if row["reason"] == "overdue":
            found.append(_overdue(row, window))
        if row["days_result_late"]:
            found.append(_pending(row))
    return [
        *found,
        *implant_findings(con, window),
        *event_findings(con, window),
        *incident_findings(con, window),
    ]


def _growth(row: dict[str, Any]) -> Finding:
    return Finding(
        "growth",
        "act_now",
        row["site_id"],
        row["unit_serial"],
        row["growth_on"],
        message("finding.growth.why", row["doubt_count"]),
        message("finding.growth.next_step"),
        weight=row["doubt_count"],
        rule="response",
        source=message("finding.growth.source"),
    )


def _overdue(row: dict[str, Any], window: Window) -> Finding:
    form = "why" if row["last_valid_on"] else "never"
    cycles = message("finding.spore_overdue.cycles", row["cycles_while_overdue"])
    return Finding(
        "spore_overdue",
        row["state"],
        row["site_id"],
        row["unit_serial"],
        window.to_on - timedelta(days=max(row["days_overdue"], 1)),
        message(f"finding.spore_overdue.{form}", row["days_overdue"], cycles=cycles),
        message("finding.spore_overdue.next_step"),
        weight=row["days_overdue"],
        rule=f"spore/{row['rule']}",
        source=row["source"],
    )


def _pending(row: dict[str, Any]) -> Finding:
    return Finding(
        "spore_pending",
        "look_into",
        row["site_id"],
        row["unit_serial"],
        row["pending_since_on"],
        message("finding.spore_pending.why", row["days_pending"]),
        message("finding.spore_pending.next_step"),
        weight=row["days_pending"],
        rule=f"spore/{row['rule']}" if row["rule"] else None,
        source=row["source"],
    )
