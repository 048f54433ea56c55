"""Findings about maintenance: tasks overdue, values drifting, habits getting later."""

from datetime import date, timedelta
from typing import Any

import duckdb
import numpy as np

from pipeline.base.phrases import phrase
from pipeline.measure.catalogue import Feature
from pipeline.measure.drift import Series, is_drifting
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


def drift_findings(
    con: duckdb.DuckDBPyConnection,
    window: Window,
    series: dict[str, list[Series]],
    features: tuple[Feature, ...],
) -> list[Finding]:
    """One finding for each unit that is drifting: one visit looks at all that has left."""
    rows = con.execute(
        """
        WITH longest AS (
            SELECT unit_serial, site_id, feature, max(weeks_outside) AS weeks_outside,
            FROM measure.drift
            WHERE state = 'look_into'
            GROUP BY unit_serial, site_id, feature
        )
        SELECT
            unit_serial,
            site_id,
            list(feature ORDER BY weeks_outside DESC, feature) AS features,
            max(weeks_outside) AS weeks_outside,
        FROM longest
        GROUP BY unit_serial, site_id
        ORDER BY unit_serial
        """
    ).fetchall()
    by_name = {one.feature: one for one in features}
    drifting = [series[unit] for unit, *_ in rows]
    starts = episode_starts(
        lambda day: np.array([is_drifting(one, day) for one in drifting], np.bool_),
        window.as_of_on,
        [min(one.baseline_on for one in of_unit) for of_unit in drifting],
    )
    return [
        _drift_finding(unit, site_id, [by_name[name] for name in names], weeks, start)
        for (unit, site_id, names, weeks), start in zip(rows, starts, strict=True)
        if start
    ]


def _drift_finding(
    unit_serial: str, site_id: str, features: list[Feature], weeks_outside: int, since_on: date
) -> Finding:
    """The finding of one unit; the feature that has been outside longest comes first."""
    first, *others = [one.title for one in features]
    *most, last = [first, *(title[0].lower() + title[1:] for title in others)]
    names = phrase("finding.drift.and", first=", ".join(most), last=last) if most else last
    return Finding(
        "drift",
        "look_into",
        site_id,
        unit_serial,
        since_on,
        phrase("finding.drift.why", weeks_outside, features=names),
        features[0].fix,
        weight=weeks_outside,
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
            start,
            phrase("finding.habit.why", row["interval_count"], late=f"{row['late_count']:,}"),
            phrase("finding.habit.next_step"),
            weight=row["lateness_slope"],
        )
        for row, start in zip(rows.iter_rows(named=True), starts, strict=True)
        if start
    ]
