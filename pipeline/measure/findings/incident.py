"""Findings about what is asked for after growth and after events, and is not on record."""

from typing import Any

import duckdb

from pipeline.base.message import message, row_of
from pipeline.measure.findings.closed import closed_on
from pipeline.measure.findings.finding import Finding
from pipeline.measure.tables import read
from pipeline.measure.window import Window


def incident_findings(con: duckdb.DuckDBPyConnection, window: Window) -> list[Finding]:
    """One finding for each growth whose later test was clear, with steps still missing.

    Of growths that were open in the year. It ends when the logs show the steps, or when a note
    closes it. While no later test was clear the finding of the growth itself stands for it.
    """
    rows = read(
        con,
        """
        WITH step AS (
            SELECT
                incident_id,
                count(*) FILTER (state <> 'not_needed') AS needed_count,
                list(step ORDER BY place, condition) FILTER (state = 'missing') AS missing,
                arg_min(source, (place, condition)) FILTER (state = 'missing') AS source,
                arg_min(step || '/' || condition, (place, condition)) FILTER (state = 'missing')
                    AS rule,
            FROM fact.incident_step
            GROUP BY incident_id
        )
        SELECT
            incident.unit_serial,
            incident.growth_on,
            service.site_id,
            step.needed_count,
            step.missing,
            step.source,
            step.rule,
        FROM fact.incident AS incident
        JOIN fact.service AS service USING (unit_serial)
        JOIN step USING (incident_id)
        WHERE incident.cleared_on IS NOT NULL AND step.missing IS NOT NULL
        ORDER BY incident.unit_serial, incident.growth_on
        """,
    )
    closed = closed_on(con, window.as_of_on)
    found = [_incident(row) for row in rows.iter_rows(named=True)]
    return [one for one in found if one.finding_id not in closed]


def _incident(row: dict[str, Any]) -> Finding:
    steps = [message(f"rule.step.{step}") for step in dict.fromkeys(row["missing"])]
    return Finding(
        "incident",
        "look_into",
        row["site_id"],
        row["unit_serial"],
        row["growth_on"],
        message(
            "finding.incident.why",
            len(row["missing"]),
            total=row["needed_count"],
            steps=row_of(steps, message("rule.and")),
        ),
        message("finding.incident.next_step"),
        weight=len(row["missing"]),
        rule=f"response/{row['rule']}",
        source=row["source"],
    )


def event_findings(con: duckdb.DuckDBPyConnection, window: Window) -> list[Finding]:
    """One finding for each event after which a unit was used before its tests were complete."""
    rows = read(
        con,
        """
        SELECT
            event.unit_serial,
            event.event,
            event.event_on,
            service.site_id,
            max(event.cycles_before) AS cycles_before,
            list(
                {test: event.test, passed: event.passed_count, asked: event.asked_count}
                ORDER BY event.test, event.program
            ) AS tests,
            arg_min(event.source, (event.test, event.program)) AS source,
            arg_min(event.test, (event.test, event.program)) AS test,
        FROM fact.event_test AS event
        JOIN fact.service AS service USING (unit_serial)
        WHERE event.state = 'missing'
        GROUP BY event.unit_serial, event.event, event.event_on, service.site_id
        ORDER BY event.unit_serial, event.event, event.event_on
        """,
    )
    closed = closed_on(con, window.as_of_on)
    found = [_event(row) for row in rows.iter_rows(named=True)]
    return [one for one in found if one.finding_id not in closed]


def _event(row: dict[str, Any]) -> Finding:
    tests = [
        message(
            "finding.event_test.test",
            passed=one["passed"],
            asked=message(f"rule.event_test.{one['test']}", one["asked"]),
        )
        for one in row["tests"]
    ]
    return Finding(
        "event_test",
        "look_into",
        row["site_id"],
        row["unit_serial"],
        row["event_on"],
        message(
            "finding.event_test.why",
            row["cycles_before"],
            event=message(f"rule.event.{row['event']}"),
            tests=row_of(tests, message("rule.and")),
        ),
        message("finding.event_test.next_step"),
        weight=row["cycles_before"],
        task=row["event"],
        rule=f"event/{row['event']}/{row['test']}",
        source=row["source"],
    )
