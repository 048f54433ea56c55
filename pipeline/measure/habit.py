"""Whether a unit's maintenance tasks are done later and later.

Each interval between two acts of a task, as a share of what is allowed: 1 is on the day. Tasks with
different intervals can so be looked at together.
"""

from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.base.period import year_to
from pipeline.measure.intervals import Floats
from pipeline.measure.tables import read
from pipeline.measure.trend import Slope, theil_sen
from pipeline.measure.window import Window

LEAST_INTERVALS = 12
LATELY_DAYS = 91
DAYS_IN_A_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Intervals:
    """A unit's intervals in order of the day they ended on, which is an ordinal."""

    ended: NDArray[np.int64]
    used_share: Floats
    is_late: NDArray[np.bool_]

    def in_year_to(self, as_of: date) -> "Intervals":
        """Those that ended in the twelve months up to this day."""
        from_on, to_on = year_to(as_of)
        is_in = (self.ended >= from_on.toordinal()) & (self.ended < to_on.toordinal())
        return Intervals(self.ended[is_in], self.used_share[is_in], self.is_late[is_in])


@dataclass(frozen=True, slots=True)
class Habit:
    """How a unit's year of intervals stands; no slope with fewer than twelve."""

    interval_count: int
    late_count: int
    slope: Slope | None
    state: str


def judge(intervals: Intervals, as_of: date) -> Habit:
    """Judge the year up to a day: getting later, and past due by now in the middle."""
    year = intervals.in_year_to(as_of)
    count, late = len(year.ended), int(year.is_late.sum())
    if count < LEAST_INTERVALS:
        return Habit(count, late, None, "too_few")
    slope = theil_sen(year.used_share, (year.ended - as_of.toordinal()) / DAYS_IN_A_YEAR)
    lately = year.used_share[year.ended > as_of.toordinal() - LATELY_DAYS]
    is_late_now = len(lately) > 0 and float(np.median(lately)) > 1
    is_later = slope is not None and slope.low > 0 and is_late_now
    return Habit(count, late, slope, "look_into" if is_later else "usual")


def read_intervals(con: duckdb.DuckDBPyConnection) -> dict[str, Intervals]:
    """The ended intervals of the history of each unit in service; units without any left out."""
    rows = read(
        con,
        """
        SELECT unit_serial, ended_on, used_share, is_late,
        FROM fact.task_interval
        SEMI JOIN fact.service USING (unit_serial)
        WHERE ended_on IS NOT NULL
        ORDER BY unit_serial, ended_on, task
        """,
    )
    return {
        str(key[0]): Intervals(
            np.array([day.toordinal() for day in group["ended_on"]]),
            group["used_share"].to_numpy(),
            group["is_late"].to_numpy(),
        )
        for key, group in rows.group_by("unit_serial", maintain_order=True)
    }


def habit_rows(
    con: duckdb.DuckDBPyConnection, window: Window, intervals: dict[str, Intervals]
) -> pl.DataFrame:
    """Rows of measure.habit, for units in service that have ended an interval."""
    sites = dict(con.execute("SELECT unit_serial, site_id FROM fact.service").fetchall())
    rows = []
    for unit_serial, one in intervals.items():
        found = judge(one, window.as_of_on)
        rows.append(
            {
                "unit_serial": unit_serial,
                "site_id": sites[unit_serial],
                "interval_count": found.interval_count,
                "late_count": found.late_count,
                "lateness_slope": found.slope and found.slope.slope,
                "lateness_low": found.slope and found.slope.low,
                "lateness_high": found.slope and found.slope.high,
                "state": found.state,
            }
        )
    return pl.DataFrame(rows, infer_schema_length=None)
