"""The series of weekly middles read from fact.wear_week, and the rows of measure.drift."""

from datetime import date
from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.measure.catalogue import Feature
from pipeline.measure.drift import Drift, Series, judge_unit
from pipeline.measure.tables import read
from pipeline.measure.window import Window

WEEKS_IN_A_MONTH = 365.25 / 12 / 7
STATES = {
    "outside": "look_into",
    "alone": "usual",
    "usual": "usual",
    "too_few": "too_few",
    "stale": "not_seen",
}


def read_series(
    con: duckdb.DuckDBPyConnection, window: Window, features: tuple[Feature, ...]
) -> dict[str, list[Series]]:
    """The series of each unit in service, of whole weeks since its baseline began."""
    rows = read(
        con,
        """
        WITH begun AS (
            SELECT unit_serial, max(done_on) AS baseline_on,
            FROM model.task
            WHERE kind IN ('service', 'repair', 'relocation', 'installation')
                AND done_on >= $history_on AND done_on <= $as_of_on
            GROUP BY unit_serial
        )
        SELECT
            week.unit_serial,
            week.program,
            week.feature,
            coalesce(begun.baseline_on, $history_on) AS baseline_on,
            week.week_on,
            week.middle,
        FROM fact.wear_week AS week
        SEMI JOIN fact.service USING (unit_serial)
        LEFT JOIN begun USING (unit_serial)
        WHERE week.week_on > coalesce(begun.baseline_on, $history_on - 1)
            AND week.week_on + 7 <= $to_on
        ORDER BY week.unit_serial, week.program, week.feature, week.week_on
        """,
        history_on=window.history_on,
        as_of_on=window.as_of_on,
        to_on=window.to_on,
    )
    worse = {one.feature: one.worse for one in features}
    series: dict[str, list[Series]] = {}
    for (unit, program, feature, baseline_on), group in rows.group_by(
        "unit_serial", "program", "feature", "baseline_on", maintain_order=True
    ):
        mondays = np.array([day.toordinal() for day in group["week_on"]])
        middles = group["middle"].to_numpy()
        one = Series(program, feature, worse[feature], baseline_on, mondays, middles)
        series.setdefault(unit, []).append(one)
    return series


def drift_rows(
    con: duckdb.DuckDBPyConnection, window: Window, series: dict[str, list[Series]]
) -> pl.DataFrame:
    """Rows of measure.drift."""
    sites = dict(con.execute("SELECT unit_serial, site_id FROM fact.service").fetchall())
    rows = [
        {"unit_serial": unit, "site_id": sites[unit], **_row(one, drift)}
        for unit, of_unit in series.items()
        for one, drift in judge_unit(of_unit, window.as_of_on)
    ]
    return pl.DataFrame(rows, infer_schema_length=None)


def _row(series: Series, drift: Drift) -> dict[str, Any]:
    slope = drift.slope
    since = series.mondays[-drift.weeks_outside] if drift.weeks_outside else None
    return {
        "program": series.program,
        "feature": series.feature,
        "baseline_on": series.baseline_on,
        "baseline_low": drift.low,
        "baseline_high": drift.high,
        "latest": drift.latest,
        "since_on": None if since is None else date.fromordinal(int(since)),
        "weeks_outside": drift.weeks_outside,
        "slope_per_month": slope and slope.slope * WEEKS_IN_A_MONTH,
        "slope_low": slope and slope.low * WEEKS_IN_A_MONTH,
        "slope_high": slope and slope.high * WEEKS_IN_A_MONTH,
        "state": STATES[drift.reason],
        "reason": drift.reason,
    }
