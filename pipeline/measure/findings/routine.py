"""Findings about steam penetration, leak and control tests and chemical indicators: facts."""

from datetime import date
from typing import Any

import duckdb

from pipeline.base.message import message
from pipeline.measure.findings.closed import Rows, closed_on, left_open
from pipeline.measure.findings.finding import Finding
from pipeline.measure.tables import read
from pipeline.measure.window import Window


def routine_findings(con: duckdb.DuckDBPyConnection, window: Window) -> list[Finding]:
    """Failures without a clear test since, indicators that did not change, habits of missing."""
    closed = closed_on(con, window.as_of_on)
    return [
        *_failures(con, closed),
        *_unchanged(con, window, closed),
        *_missed(con),
    ]


def _failures(con: duckdb.DuckDBPyConnection, closed: dict[str, date]) -> list[Finding]:
    """One finding a unit and test whose last failure nothing has cleared; a note closes it too."""
    rows = read(
        con,
        """
        SELECT
            failure.unit_serial,
            service.site_id,
            failure.test,
            failure.failed_on,
            failure.run_count,
        FROM fact.routine_failure AS failure
        JOIN fact.service AS service USING (unit_serial)
        WHERE failure.cleared_on IS NULL
        QUALIFY row_number() OVER (
            PARTITION BY failure.unit_serial, failure.test
            ORDER BY failure.failed_on, failure.first_key
        ) = 1
        ORDER BY failure.unit_serial, failure.test
        """,
    )
    found = [_failure(row) for row in rows.iter_rows(named=True)]
    return [one for one in found if one.finding_id not in closed]


def _failure(row: dict[str, Any]) -> Finding:
    test = row["test"]
    return Finding(
        "routine_failed",
        "act_now",
        row["site_id"],
        row["unit_serial"],
        row["failed_on"],
        message(
            "finding.routine_failed.why", row["run_count"], test=message(f"rule.routine.{test}")
        ),
        message(f"finding.routine_failed.next_step.{test}"),
        weight=row["run_count"],
        task=test,
        rule=f"routine/{test}",
        source=message(f"finding.routine_failed.source.{test}"),
    )


def _unchanged(
    con: duckdb.DuckDBPyConnection, window: Window, closed: dict[str, date]
) -> list[Finding]:
    """One finding a unit, of its loads of the year that were neither rejected nor kept aside."""
    rows = read(
        con,
        """
        SELECT
            day.unit_serial,
            service.site_id,
            day.used_on AS started_on,
            day.unchanged_count - day.rejected_count AS load_count,
            day.released_count,
        FROM fact.indicator_day AS day
        JOIN fact.service AS service USING (unit_serial)
        WHERE day.unchanged_count > day.rejected_count AND day.used_on >= $from_on
        ORDER BY day.unit_serial, day.used_on
        """,
        from_on=window.from_on,
    )
    found = [
        left_open(list(group.iter_rows(named=True)), closed, _unchanged_finding)
        for _, group in rows.group_by("unit_serial", maintain_order=True)
    ]
    return [one for one in found if one]


def _unchanged_finding(days: Rows) -> Finding:
    loads = sum(day["load_count"] for day in days)
    released = sum(day["released_count"] for day in days)
    return Finding(
        "indicator_unchanged",
        "act_now" if released else "look_into",
        days[0]["site_id"],
        days[0]["unit_serial"],
        days[0]["started_on"],
        message(
            "finding.indicator_unchanged.why",
            loads,
            released=message("finding.indicator_unchanged.released", released),
        ),
        message("finding.indicator_unchanged.next_step"),
        weight=loads,
        rule="routine/chemical_in_load",
        source=message("finding.indicator_unchanged.source"),
    )


def _missed(con: duckdb.DuckDBPyConnection) -> list[Finding]:
    """One finding a unit and test whose missing has become a habit."""
    rows = read(
        con,
        "FROM fact.routine_standing WHERE reason = 'habit' ORDER BY unit_serial, test",
    )
    return [_missed_finding(row) for row in rows.iter_rows(named=True)]


def _missed_finding(row: dict[str, Any]) -> Finding:
    kind = "day" if row["kind"] == "interval_days" else row["kind"].removeprefix("use_")
    return Finding(
        "routine_missed",
        "look_into",
        row["site_id"],
        row["unit_serial"],
        row["missed_since_on"],
        message(
            f"finding.routine_missed.why.{kind}",
            test=message(f"rule.routine.{row['test']}"),
            missed=row["lately_missed_count"],
            asked=row["lately_asked_count"],
            year_missed=row["missed_count"],
            year_asked=row["asked_count"],
        ),
        message("finding.routine_missed.next_step"),
        weight=row["lately_missed_count"] / row["lately_asked_count"],
        task=row["test"],
        rule=f"routine/{row['test']}",
        source=row["source"],
    )
