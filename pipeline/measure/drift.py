"""Whether a value that tells of wear is leaving the range kept after the last service.

Units are those of the feature. A judgement on one series is a pure function; the rest reads the
weekly middles and stores one row a series.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measure.catalogue import Feature, Worse
from pipeline.measure.intervals import Floats
from pipeline.measure.tables import read
from pipeline.measure.trend import Slope, theil_sen
from pipeline.measure.window import Window

BASELINE_WEEKS, LEAST_BASELINE_WEEKS = 26, 8
JUDGED_WEEKS = 3
"""The last three weeks are judged, so they are never part of the baseline."""
SLOPE_WEEKS = 26
STALE_DAYS = 28
WEEKS_IN_A_MONTH = 365.25 / 12 / 7


@dataclass(frozen=True, slots=True)
class Drift:
    """How one series stands; the range and the slope are None where there are too few weeks."""

    low: float | None
    high: float | None
    latest: float
    weeks_outside: int
    slope: Slope | None
    reason: str


def judge(weeks: NDArray[np.int64], middles: Floats, worse: Worse) -> Drift:
    """Judge a series of weekly middles since the baseline's first day, numbered by week, in order.

    Outside means beyond the 5-95 % range of the baseline on the worse side; it is drift when at
    least three weeks in a row up to the last are outside and the whole 95 % interval of the
    Theil-Sen slope points the same way.
    """
    baseline = middles[: min(BASELINE_WEEKS, len(middles) - JUDGED_WEEKS)]
    latest = float(middles[-1])
    if len(baseline) < LEAST_BASELINE_WEEKS:
        return Drift(None, None, latest, 0, None, "too_few")
    low, high = np.quantile(baseline, [0.05, 0.95])
    outside = middles > high if worse == "higher" else middles < low
    inside = np.flatnonzero(~outside)
    weeks_outside = len(middles) - 1 - int(inside[-1]) if len(inside) else len(middles)
    is_judged = weeks > weeks[-1] - SLOPE_WEEKS
    slope = theil_sen(middles[is_judged], weeks[is_judged])
    is_drift = (
        weeks_outside >= JUDGED_WEEKS
        and slope is not None
        and (slope.low > 0 if worse == "higher" else slope.high < 0)
    )
    reason = "outside" if is_drift else "usual"
    return Drift(float(low), float(high), latest, weeks_outside, slope, reason)


def drift_rows(
    con: duckdb.DuckDBPyConnection, window: Window, features: tuple[Feature, ...]
) -> pl.DataFrame:
    """Rows of measure.drift."""
    worse = {one.feature: one.worse for one in features}
    rows = [
        _row(key, group, worse[str(key[2])], window)
        for key, group in _series(con, window).group_by(
            "unit_serial", "program", "feature", "site_id", "baseline_on", maintain_order=True
        )
    ]
    if not rows:
        return pl.DataFrame()
    table = pl.DataFrame(rows, schema_overrides={"since_on": pl.Date}, infer_schema_length=None)
    return _agreed(table)


def _agreed(rows: pl.DataFrame) -> pl.DataFrame:
    """Take back what at least half of the unit's programs do not bear out.

    A worn part shows in every program that uses it; with some thousand series a network has a few
    that are three weeks outside by luck.
    """
    reason = pl.col("reason")
    of_feature = ("unit_serial", "feature")
    judged = reason.is_in(["outside", "usual"]).sum().over(of_feature)
    outside = (reason == "outside").sum().over(of_feature)
    is_alone = (reason == "outside") & (2 * outside < judged)
    return rows.with_columns(
        state=pl.when(is_alone).then(pl.lit("usual")).otherwise("state"),
        reason=pl.when(is_alone).then(pl.lit("alone")).otherwise("reason"),
    )


def _series(con: duckdb.DuckDBPyConnection, window: Window) -> pl.DataFrame:
    """Middles of whole weeks since each unit's baseline began."""
    return read(
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
            week.*,
            service.site_id,
            coalesce(begun.baseline_on, $history_on) AS baseline_on,
        FROM fact.wear_week AS week
        JOIN fact.service AS service USING (unit_serial)
        LEFT JOIN begun USING (unit_serial)
        WHERE week.week_on > coalesce(begun.baseline_on, $history_on - 1)
            AND week.week_on + 7 <= $to_on
        ORDER BY unit_serial, program, feature, week_on
        """,
        history_on=window.history_on,
        as_of_on=window.as_of_on,
        to_on=window.to_on,
    )


def _row(
    key: tuple[object, ...], group: pl.DataFrame, worse: Worse, window: Window
) -> dict[str, object]:
    week_on: list[date] = group["week_on"].to_list()
    numbers = np.array([one.toordinal() // 7 for one in week_on])
    found = judge(numbers, group["middle"].to_numpy(), worse)
    is_stale = week_on[-1] + timedelta(days=6 + STALE_DAYS) < window.as_of_on
    reason = "stale" if is_stale else found.reason
    slope = found.slope
    return {
        "unit_serial": key[0],
        "program": key[1],
        "feature": key[2],
        "site_id": key[3],
        "baseline_on": key[4],
        "baseline_low": found.low,
        "baseline_high": found.high,
        "latest": found.latest,
        "since_on": week_on[-found.weeks_outside] if found.weeks_outside else None,
        "weeks_outside": found.weeks_outside,
        "slope_per_month": slope and slope.slope * WEEKS_IN_A_MONTH,
        "slope_low": slope and slope.low * WEEKS_IN_A_MONTH,
        "slope_high": slope and slope.high * WEEKS_IN_A_MONTH,
        "state": {"outside": "look_into", "stale": "not_seen"}.get(reason, reason),
        "reason": reason,
    }
