"""The rows of measure.stop_chart: each unit's chart, week by week."""

from datetime import date, timedelta

import duckdb
import numpy as np
import polars as pl

from pipeline.base.period import iso_week_start
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.resets import Resets
from pipeline.measure.stop_chart import StopChart
from pipeline.measure.tables import read

WEEKS = 53


def stop_chart_rows(
    con: duckdb.DuckDBPyConnection,
    counts: DayCounts,
    resets: Resets,
    chart: StopChart,
    as_of: date,
) -> pl.DataFrame:
    """Rows of measure.stop_chart for units in service, from the first week that has a chart."""
    first_on = iso_week_start(as_of) - timedelta(weeks=WEEKS - 1)
    weeks = []
    for number in range(WEEKS):
        week_on = first_on + timedelta(weeks=number)
        low = max((week_on - chart.first_on).days, 0)
        high = min((week_on - chart.first_on).days + 7, chart.levels.shape[1])
        if high <= low:
            continue
        level, peak = chart.levels[:, high - 1], chart.levels[:, low:high].max(axis=1)
        is_in = (resets.days >= week_on.toordinal()) & (resets.days < week_on.toordinal() + 7)
        is_fresh = np.zeros(len(level), np.bool_)
        is_fresh[resets.of_unit[is_in]] = True
        weeks.append(
            pl.DataFrame(
                {
                    "unit_serial": counts.subjects,
                    "week_on": week_on,
                    "level": level.astype(np.float64),
                    "peak": peak.astype(np.float64),
                    "is_signal": level >= 1,
                    "is_fresh_start": is_fresh,
                },
                schema_overrides={"unit_serial": pl.String, "week_on": pl.Date},
            )
        )
    in_service = read(con, "SELECT unit_serial, site_id FROM fact.service")
    rows = pl.concat(weeks).filter(pl.col("level").is_not_nan())
    return rows.join(in_service, on="unit_serial")
