"""The rows of measure.drift, gathered portion by portion of the network."""

from datetime import date

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measure.catalogue import Feature
from pipeline.measure.crossing import crossings
from pipeline.measure.drift import Drifts, judge_units, unit_p
from pipeline.measure.intervals import Floats
from pipeline.measure.multiplicity import benjamini_hochberg
from pipeline.measure.scatter import UsualScatter
from pipeline.measure.side_by_side import side_by_side
from pipeline.measure.spans import Spans
from pipeline.measure.spans_read import Weeks, read_weeks, sampled_spans
from pipeline.measure.tables import read
from pipeline.measure.wear_excess import WearExcess, excess_on
from pipeline.measure.window import Window

WEEKS_IN_A_MONTH = 365.25 / 12 / 7
FALSE_DISCOVERY_SHARE = 0.1
"""Of the drifts that are listed, at most so many are there by luck."""
HORIZON_WEEKS = 104
"""Nobody knows what a unit does in more than two years: beyond, no limit is in sight."""
SHARED_UNITS, SHARED_SHARE = 3, 2 / 3
"""When so many units of a site, and so large a share, drift in one feature, it is not the units."""
EPOCH = date(1970, 1, 1).toordinal()
"""Day 0 of a polars column of days."""
STATES = {
    "outside": "look_into",
    "shared": "look_into",
    "luck": "usual",
    "alone": "usual",
    "usual": "usual",
    "too_few": "too_few",
    "stale": "not_seen",
}


def drift_rows(
    con: duckdb.DuckDBPyConnection,
    window: Window,
    features: tuple[Feature, ...],
    wear: WearExcess,
) -> pl.DataFrame:
    """Rows of measure.drift: every current span, judged first by itself and then among all.

    `wear` is told of each span on the way, so that the network is read once.
    """
    sites = read(con, "SELECT unit_serial, site_id FROM fact.service")
    limits = {one.feature: one.limit for one in features}
    # Nobody asks for an excess where findings alone are wanted.
    usual = UsualScatter({})
    if wear.days:
        usual = UsualScatter.of(sampled_spans(con, window, features), wear.days)

    def judged(weeks: Weeks) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
        spans = weeks.spans()
        rows = _rows(spans, window.as_of_on, limits) if len(spans) else pl.DataFrame()
        return rows, list(excess_on(spans, wear.days, usual))

    parts: list[pl.DataFrame] = []
    for rows, excess in side_by_side(judged, read_weeks(con, window, features)):
        parts += [] if rows.is_empty() else [rows]
        wear.keep(excess)
    if not parts:
        return pl.DataFrame()
    rows = pl.concat(parts).join(sites, on="unit_serial")
    return _shared(_named(rows)).with_columns(
        state=pl.col("reason").replace_strict(STATES, return_dtype=pl.String)
    )


def _named(rows: pl.DataFrame) -> pl.DataFrame:
    """With p adjusted for all units and features judged; what that does not leave is luck."""
    asked = rows.drop_nulls("p_value").unique(("unit_serial", "feature"), maintain_order=True)
    adjusted = asked.select(
        "unit_serial",
        "feature",
        adjusted_p=pl.Series(benjamini_hochberg(asked["p_value"].to_numpy()), dtype=pl.Float64),
    )
    is_luck = (pl.col("reason") == "outside") & (pl.col("adjusted_p") > FALSE_DISCOVERY_SHARE)
    return rows.join(
        adjusted, on=["unit_serial", "feature"], how="left", maintain_order="left"
    ).with_columns(reason=pl.when(is_luck).then(pl.lit("luck")).otherwise("reason"))


def _shared(rows: pl.DataFrame) -> pl.DataFrame:
    """With the drifts that most units of a site show in the same feature told apart."""
    by_unit = rows.group_by("site_id", "feature", "unit_serial").agg(
        is_drifting=(pl.col("reason") == "outside").any(),
        is_judged=pl.col("reason").is_in(["outside", "luck", "alone", "usual"]).any(),
    )
    by_site = by_unit.group_by("site_id", "feature").agg(
        drifting=pl.col("is_drifting").sum(), judged=pl.col("is_judged").sum()
    )
    shared = by_site.filter(
        (pl.col("drifting") >= SHARED_UNITS)
        & (pl.col("drifting") >= SHARED_SHARE * pl.col("judged"))
    ).select("site_id", "feature", is_shared=True)
    is_shared = pl.col("is_shared").fill_null(value=False) & (pl.col("reason") == "outside")
    return (
        rows.join(shared, on=["site_id", "feature"], how="left")
        .with_columns(reason=pl.when(is_shared).then(pl.lit("shared")).otherwise("reason"))
        .drop("is_shared")
    )


def _rows(spans: Spans, day: date, limits: dict[str, float | None]) -> pl.DataFrame:
    now = spans.taken(spans.is_current & (spans.counts(day) > 0))
    found = judge_units(now, day)
    slopes = found.slopes
    columns = {
        "unit_serial": now.unit,
        "program": now.program,
        "feature": now.feature,
        "baseline_on": _days(now.begun_on),
        "baseline_low": found.low,
        "baseline_high": found.high,
        "latest": found.latest,
        "since_on": _days(found.since_on),
        "weeks_outside": found.weeks_outside,
        "slope_per_month": slopes.slope * WEEKS_IN_A_MONTH,
        "slope_low": slopes.low * WEEKS_IN_A_MONTH,
        "slope_high": slopes.high * WEEKS_IN_A_MONTH,
        "p_value": unit_p(now, found),
        "onset_on": _days(found.onset_on),
        "reason": found.reason,
        **_limit_columns(now, found, day, limits),
    }
    texts = dict.fromkeys(("unit_serial", "program", "feature", "reason"), pl.String)
    frame = pl.DataFrame(columns, schema_overrides=texts)
    return frame.with_columns(pl.col(pl.Float64).fill_nan(None))


def _limit_columns(
    spans: Spans, found: Drifts, day: date, limits: dict[str, float | None]
) -> dict[str, Floats | pl.Series]:
    by_feature = {name: np.nan if one is None else one for name, one in limits.items()}
    limit = np.array([by_feature[name] for name in spans.feature], np.float64)
    # A value that does not drift leads nowhere, whatever line can be drawn through it.
    leads = np.flatnonzero((found.reason == "outside") & np.isfinite(limit))
    rising, counts = spans.taken(leads), spans.counts(day)[leads]
    reached = crossings(rising, counts, limit[leads])
    last_monday = rising.mondays[np.arange(len(rising)), counts - 1]
    dates = {}
    for name in ("soonest", "likely", "latest"):
        ahead = getattr(reached, name)
        is_in_sight = ahead <= HORIZON_WEEKS
        days = last_monday + np.round(7 * np.where(is_in_sight, ahead, 0))
        of_all = np.full(len(spans), -1)
        of_all[leads] = np.where(is_in_sight, days, -1)
        dates[f"limit_{name}_on"] = _days(of_all)
    return {"limit_value": limit, **dates}


def _days(numbers: NDArray[np.int64]) -> pl.Series:
    """Ordinals as days; -1 is none."""
    days = pl.Series((numbers - EPOCH).astype(np.int32)).cast(pl.Date)
    return days.set(pl.Series(numbers < 0), None)
