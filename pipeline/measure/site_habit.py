"""Whether a site does its tasks and spore tests later and later, by the role of who does them.

Each interval as a share of what is allowed: 1 is on the day. Of a site, a kind of act and a role
the middle interval of each week counts, so that a week of many acts says no more than one of few,
and the acts of a large site stay few numbers. Logs name roles, never people.
"""

from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measure.habit import DAYS_IN_A_YEAR, LATELY_DAYS
from pipeline.measure.intervals import Floats
from pipeline.measure.tables import read
from pipeline.measure.trend_many import Slopes, slopes_of_rows
from pipeline.measure.window import Window

LEAST_WEEKS = 12
SUBJECT = ["site_id", "act", "role"]


@dataclass(frozen=True, slots=True)
class SiteHabits:
    """How the weeks of each subject stand: slopes a year, and the middle of 13 weeks and before.

    NaN where there are fewer than twelve weeks, or none in the 13 or before them.
    """

    slopes: Slopes
    lately: Floats
    before: Floats
    state: NDArray[np.str_]


def judge_weeks(used: Floats, days: Floats, sizes: NDArray[np.int64]) -> SiteHabits:
    """Judge rows of weekly middles; `days` are those since the as-of day, negative, in order.

    Getting later, and past due by now in the middle: the rule of `habit` for one unit.
    """
    is_enough = sizes >= LEAST_WEEKS
    slopes = slopes_of_rows(used, days / DAYS_IN_A_YEAR, np.where(is_enough, sizes, 0))
    is_known = np.arange(used.shape[1]) < sizes[:, np.newaxis]
    is_lately = days > -LATELY_DAYS
    lately, before = (
        _middle(np.where(is_known & part, used, np.nan)) for part in (is_lately, ~is_lately)
    )
    is_later = (slopes.low > 0) & (lately > 1)
    state = np.select([~is_enough, is_later], ["too_few", "look_into"], "usual")
    return SiteHabits(slopes, lately, before, state)


def _middle(values: Floats) -> Floats:
    """Median of what is known in each row; NaN for nothing."""
    found = np.full(len(values), np.nan)
    has = np.isfinite(values).any(axis=1)
    found[has] = np.nanmedian(values[has], axis=1)
    return found


def site_habit_rows(con: duckdb.DuckDBPyConnection, window: Window) -> pl.DataFrame:
    """Rows of measure.site_habit: of each site, its tasks by role, and its spore tests."""
    weeks = _read_weeks(con, window)
    if weeks.is_empty():
        return pl.DataFrame()
    heads = weeks.group_by(SUBJECT, maintain_order=True).agg(
        interval_count=pl.col("interval_count").sum(),
        late_count=pl.col("late_count").sum(),
        week_count=pl.len(),
    )
    sizes = heads["week_count"].to_numpy().astype(np.int64)
    row = np.repeat(np.arange(len(sizes)), sizes)
    place = np.arange(len(row)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    shape = len(sizes), int(sizes.max())
    used, days = np.full(shape, np.nan), np.zeros(shape)
    used[row, place], days[row, place] = weeks["used_share"], weeks["day"]
    found = judge_weeks(used, days, sizes)
    return heads.drop("week_count").with_columns(
        lateness_slope=pl.Series(found.slopes.slope).fill_nan(None),
        lateness_low=pl.Series(found.slopes.low).fill_nan(None),
        lateness_high=pl.Series(found.slopes.high).fill_nan(None),
        lately_share=pl.Series(found.lately).fill_nan(None),
        before_share=pl.Series(found.before).fill_nan(None),
        state=pl.Series(found.state.tolist(), dtype=pl.String),
    )


def _read_weeks(con: duckdb.DuckDBPyConnection, window: Window) -> pl.DataFrame:
    """A row a week of each subject, in order; a week counts back from the as-of day."""
    return read(
        con,
        """
        WITH act AS (
            SELECT
                span.site_id,
                'task' AS act,
                coalesce(task.by_role, 'not_noted') AS role,
                span.ended_on,
                span.used_share,
                span.is_late,
            FROM fact.task_interval AS span
            JOIN model.task AS task
                ON task.unit_serial = span.unit_serial
                AND task.task = span.task
                AND task.done_on = span.ended_on
            UNION ALL
            -- Asked by the day or by use; tests of calendar weeks have no interval to be late by.
            SELECT
                service.site_id,
                'test',
                'all',
                span.ended_on,
                (span.ended_on - span.from_on) / greatest(span.due_on - span.from_on, 1),
                span.ended_on > span.allowed_on,
            FROM fact.spore_interval AS span
            JOIN fact.service AS service USING (unit_serial)
            WHERE span.is_test AND span.due_on IS NOT NULL AND span.allowed_on IS NOT NULL
        )
        SELECT
            site_id,
            act,
            role,
            -7.0 * ((($to_on - ended_on - 1) // 7)) AS day,
            median(used_share) AS used_share,
            count(*) AS interval_count,
            count(*) FILTER (is_late) AS late_count,
        FROM act
        SEMI JOIN fact.service USING (site_id)
        WHERE ended_on >= $from_on AND ended_on < $to_on AND used_share IS NOT NULL
        GROUP BY site_id, act, role, day
        ORDER BY site_id, act, role, day
        """,
        from_on=window.from_on,
        to_on=window.to_on,
    )
