"""The rows of measure.comparison: to how many a question was put, and how many luck alone names."""

import duckdb
import polars as pl

from pipeline.measure.catalogue import Signal
from pipeline.measure.drift_table import FALSE_DISCOVERY_SHARE
from pipeline.measure.tables import read


def comparison_rows(con: duckdb.DuckDBPyConnection, signal: Signal) -> pl.DataFrame:
    """Rows of measure.comparison, counted in the tables of this edition."""
    return read(
        con,
        """
        WITH latest AS (
            SELECT unit_serial, is_signal,
            FROM measure.stop_chart
            QUALIFY week_on = max(week_on) OVER ()
        ),
        of_drift AS (
            SELECT
                unit_serial,
                feature,
                min(adjusted_p) AS adjusted_p,
                bool_or(state = 'look_into') AS is_named,
            FROM measure.drift
            GROUP BY unit_serial, feature
        )
        SELECT
            'stop_chart' AS question,
            count(*) AS asked_count,
            count(*) FILTER (is_signal) AS named_count,
            $budget::DOUBLE AS luck_count,
        FROM latest
        UNION ALL
        SELECT
            'stops_recent',
            count(adjusted_p),
            count(*) FILTER (adjusted_p <= $of_stops AND stopped_count >= $fewest),
            $of_stops * count(*) FILTER (adjusted_p <= $of_stops AND stopped_count >= $fewest),
        FROM measure.recent
        UNION ALL
        SELECT
            'drift',
            count(adjusted_p),
            count(*) FILTER (is_named),
            $of_drifts * count(*) FILTER (is_named),
        FROM of_drift
        """,
        budget=signal.false_act_now_a_quarter,
        of_stops=signal.false_discovery_share,
        of_drifts=FALSE_DISCOVERY_SHARE,
        fewest=signal.fewest,
    )
