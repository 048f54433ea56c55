"""Findings about maintenance: tasks overdue, habits getting later."""

from datetime import timedelta
from typing import Any

import duckdb
import numpy as np

from pipeline.base.message import message
from pipeline.measure.episode import episode_starts
from pipeline.measure.findings.finding import Finding
from pipeline.measure.habit import Intervals, judge
from pipeline.measure.tables import read
from pipeline.measure.window import Window


def task_findings(con: duckdb.DuckDBPyConnection, window: Window) -> list[Finding]:
    """One finding for each task of a unit that is overdue beyond its grace."""
    rows = read(
        con,
        """
        SELECT due.*, rule.who,
        FROM fact.task_due AS due
        JOIN fact.service AS service USING (unit_serial)
        JOIN practice.task_rule AS rule
            ON rule.practice = service.practice
            AND rule.task = due.task
            AND $as_of_on >= rule.valid_from
            AND $as_of_on < coalesce(rule.valid_to, DATE 'infinity')
        WHERE due.state IN ('act_now', 'look_into')
        ORDER BY due.unit_serial, due.task
        """,
        as_of_on=window.as_of_on,
    )
    return [_task_finding(row, window) for row in rows.iter_rows(named=True)]


def _task_finding(row: dict[str, Any], window: Window) -> Finding:
    form = "why" if row["last_done_on"] else "never"
    cycles = message("finding.task_overdue.cycles", row["cycles_overdue"] or 0)
    name = message(f"task.{row['task']}")
    who = row["who"].replace(" ", "_")
    return Finding(
        "task_overdue",
        row["state"],
        row["site_id"],
        row["unit_serial"],
        # Not counted back from today: days on which it was closed would move it.
        row["due_on"] + timedelta(days=1),
        message(f"finding.task_overdue.{form}", row["days_overdue"], task=name, cycles=cycles),
        message(f"finding.task_overdue.next_step.{who}"),
        weight=row["used_share"],
        task=row["task"],
    )


def habit_findings(
    con: duckdb.DuckDBPyConnection, window: Window, intervals: Intervals
) -> list[Finding]:
    """One finding for each unit whose maintenance is done later and later."""
    rows = read(con, "FROM measure.habit WHERE state = 'look_into' ORDER BY unit_serial")
    judged = intervals.of(rows["unit_serial"].to_list())
    starts = episode_starts(
        lambda day: np.asarray(judge(judged, day).state == "look_into"),
        window.as_of_on,
        judged.first_days(),
    )
    return [
        Finding(
            "habit",
            row["state"],
            row["site_id"],
            row["unit_serial"],
            start,
            message("finding.habit.why", row["interval_count"], late=row["late_count"]),
            message("finding.habit.next_step"),
            weight=row["lateness_slope"],
        )
        for row, start in zip(rows.iter_rows(named=True), starts, strict=True)
        if start
    ]
