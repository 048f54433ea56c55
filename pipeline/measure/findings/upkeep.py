"""Findings about maintenance: tasks overdue, values drifting, habits getting later."""

from datetime import date, timedelta

import duckdb
import numpy as np
import polars as pl

from pipeline.base.phrases import phrase
from pipeline.measure.catalogue import Feature
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
            ON rule.practice = service.practice AND rule.task = due.task
        WHERE due.state IN ('act_now', 'look_into')
        ORDER BY due.unit_serial, due.task
        """,
    )
    return [_task_finding(row, window) for row in rows.iter_rows(named=True)]


def _task_finding(row: dict, window: Window) -> Finding:
    form = "why" if row["last_done_on"] else "never"
    cycles = phrase("finding.task_overdue.cycles", row["cycles_overdue"] or 0)
    name = phrase(f"task.{row['task']}")
    who = row["who"].replace(" ", "_")
    return Finding(
        "task_overdue",
        row["state"],
        row["site_id"],
        row["unit_serial"],
        window.to_on - timedelta(days=row["days_overdue"]),
        phrase(f"finding.task_overdue.{form}", row["days_overdue"], task=name, cycles=cycles),
        phrase(f"finding.task_overdue.next_step.{who}"),
        weight=row["used_share"],
        task=row["task"],
    )


def drift_findings(con: duckdb.DuckDBPyConnection, features: tuple[Feature, ...]) -> list[Finding]:
    """One finding for each unit that is drifting: one visit looks at all that has left."""
    rows = read(
        con,
        """
        SELECT
            unit_serial,
            site_id,
            feature,
            min(since_on) AS since_on,
            max(weeks_outside) AS weeks_outside,
        FROM measure.drift
        WHERE state = 'look_into'
        GROUP BY unit_serial, site_id, feature
        ORDER BY unit_serial, weeks_outside DESC, feature
        """,
    )
    by_name = {one.feature: one for one in features}
    return [
        _drift_finding(group, [by_name[feature] for feature in group["feature"]])
        for _, group in rows.group_by("unit_serial", maintain_order=True)
    ]


def _drift_finding(rows: pl.DataFrame, features: list[Feature]) -> Finding:
    """The finding of one unit; what has been outside longest comes first."""
    longest = rows.row(0, named=True)
    first, *others = [one.title for one in features]
    *most, last = [first, *(title[0].lower() + title[1:] for title in others)]
    names = phrase("finding.drift.and", first=", ".join(most), last=last) if most else last
    return Finding(
        "drift",
        "look_into",
        longest["site_id"],
        longest["unit_serial"],
        min(rows["since_on"].to_list()),
        phrase("finding.drift.why", longest["weeks_outside"], features=names),
        features[0].fix,
        weight=longest["weeks_outside"],
        feature=features[0].feature,
    )


def habit_findings(
    con: duckdb.DuckDBPyConnection, window: Window, intervals: dict[str, Intervals]
) -> list[Finding]:
    """One finding for each unit whose maintenance is done later and later."""
    rows = read(con, "FROM measure.habit WHERE state = 'look_into' ORDER BY unit_serial")
    judged = [intervals[unit] for unit in rows["unit_serial"]]
    starts = episode_starts(
        lambda day: np.array([judge(one, day).state == "look_into" for one in judged], np.bool_),
        window.as_of_on,
        [date.fromordinal(int(one.ended[0])) for one in judged],
    )
    return [
        Finding(
            "habit",
            row["state"],
            row["site_id"],
            row["unit_serial"],
            start or window.as_of_on,
            phrase("finding.habit.why", row["interval_count"], late=f"{row['late_count']:,}"),
            phrase("finding.habit.next_step"),
            weight=row["lateness_slope"],
        )
        for row, start in zip(rows.iter_rows(named=True), starts, strict=True)
    ]
