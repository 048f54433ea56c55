"""The rows of measure.recent and measure.stop_period: each unit judged by what is usual for it."""

import duckdb
import numpy as np
import polars as pl

from pipeline.measure.day_counts import DayCounts
from pipeline.measure.stops import Recent
from pipeline.measure.tables import read
from pipeline.measure.tails import p_at_least, upper_limit

LIMIT_P = 1 / 750
"""One-sided chance beyond three sigma, rounded: about once in 750 periods by luck alone."""


def recent_rows(con: duckdb.DuckDBPyConnection, counts: DayCounts, found: Recent) -> pl.DataFrame:
    """Rows of measure.recent: the units in service; one that never ran has nothing usual."""
    judged = pl.DataFrame(
        {
            "unit_serial": counts.subjects,
            "stopped_count": found.long.stopped,
            "run_count": found.long.run,
            "short_stopped_count": found.short.stopped,
            "short_run_count": found.short.run,
            "usual_share": found.usual_share,
            "expected_count": found.expected,
            "p_value": found.p_value,
            "adjusted_p": found.adjusted_p,
        },
        schema_overrides={"unit_serial": pl.String},
    )
    return (
        read(con, "SELECT unit_serial, site_id FROM fact.service")
        .join(judged, on="unit_serial", how="left")
        .with_columns(
            pl.col("^.*_count$").exclude("expected_count").fill_null(0),
            pl.col("usual_share", "expected_count", "p_value", "adjusted_p").fill_nan(None),
        )
    )


def period_rows(con: duckdb.DuckDBPyConnection, recent: pl.DataFrame) -> pl.DataFrame:
    """Rows of measure.stop_period; a unit without a usual share has no limits."""
    rows = read(con, "FROM fact.stop_period ORDER BY unit_serial, period_on").join(
        recent.select("unit_serial", "usual_share"), on="unit_serial", how="left"
    )
    usual = rows["usual_share"].fill_null(np.nan).to_numpy()
    stopped, run = rows["equipment_count"].to_numpy(), rows["run_count"].to_numpy()
    is_above = pl.Series(p_at_least(stopped, run, usual) <= LIMIT_P)
    return rows.with_columns(
        limit_share=pl.Series(upper_limit(run, usual, LIMIT_P)).fill_nan(None),
        is_above=is_above,
        reason=pl.when(is_above).then(pl.col("common_reason")),
    ).drop("common_reason")
