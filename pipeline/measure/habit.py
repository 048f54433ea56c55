"""Whether maintenance tasks are done later and later.

Each interval between two acts of a task, as a share of what is allowed: 1 is on the day. Tasks with
different intervals can so be looked at together.
"""

from dataclasses import dataclass, fields
from datetime import date

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.base.period import year_to
from pipeline.measure.intervals import Floats
from pipeline.measure.side_by_side import side_by_side
from pipeline.measure.tables import read
from pipeline.measure.trend_many import Slopes, slopes_of_rows
from pipeline.measure.window import Window

LEAST_INTERVALS = 12
LATELY_DAYS = 91
DAYS_IN_A_YEAR = 365.25
AT_ONCE = 2000
"""Subjects whose slopes are worked out together."""
_FIGURES = tuple(field.name for field in fields(Slopes))


@dataclass(frozen=True, slots=True)
class Intervals:
    """Ended intervals of many subjects: by subject, then by the day they ended, an ordinal.

    `of_subject` is the position among `subjects`.
    """

    subjects: list[str]
    of_subject: NDArray[np.int64]
    ended: NDArray[np.int64]
    used_share: Floats
    is_late: NDArray[np.bool_]

    def of(self, subjects: list[str]) -> "Intervals":
        """Those of some of the subjects, in their order here."""
        position = {name: place for place, name in enumerate(subjects)}
        renamed = np.array([position.get(name, -1) for name in self.subjects], np.int64)
        of_subject = renamed[self.of_subject]
        rows = np.flatnonzero(of_subject >= 0)
        rows = rows[np.argsort(of_subject[rows], kind="stable")]
        return Intervals(
            subjects, of_subject[rows], self.ended[rows], self.used_share[rows], self.is_late[rows]
        )

    def first_days(self) -> list[date]:
        """The day on which the first interval of each subject ended; each has one."""
        first = np.searchsorted(self.of_subject, np.arange(len(self.subjects)))
        return [date.fromordinal(int(one)) for one in self.ended[first]]


@dataclass(frozen=True, slots=True)
class Habits:
    """How each subject's year of intervals stands; NaN for slopes of fewer than twelve."""

    interval_count: NDArray[np.int64]
    late_count: NDArray[np.int64]
    slopes: Slopes
    state: NDArray[np.str_]


def judge(intervals: Intervals, as_of: date) -> Habits:
    """Judge the year up to a day: getting later, and past due by now in the middle."""
    from_on, to_on = year_to(as_of)
    is_in = (intervals.ended >= from_on.toordinal()) & (intervals.ended < to_on.toordinal())
    who, ended = intervals.of_subject[is_in], intervals.ended[is_in]
    count = np.bincount(who, minlength=len(intervals.subjects))
    late = np.bincount(who[intervals.is_late[is_in]], minlength=len(intervals.subjects))
    place = np.arange(len(who)) - np.repeat(np.cumsum(count) - count, count)
    shape = len(count), max(int(count.max(initial=0)), 1)
    years, used = np.zeros(shape), np.full(shape, np.nan)
    years[who, place] = (ended - as_of.toordinal()) / DAYS_IN_A_YEAR
    used[who, place] = intervals.used_share[is_in]
    is_enough = count >= LEAST_INTERVALS
    slopes = _slopes(used, years, np.where(is_enough, count, 0))
    is_lately = years > -LATELY_DAYS / DAYS_IN_A_YEAR
    is_later = (slopes.low > 0) & (_middle(np.where(is_lately, used, np.nan)) > 1)
    state = np.select([~is_enough, is_later], ["too_few", "look_into"], "usual")
    return Habits(count, late, slopes, state)


def _slopes(used: Floats, years: Floats, sizes: NDArray[np.int64]) -> Slopes:
    """Slopes without their p, which nobody asks for here, some subjects at a time."""
    parts = [slice(first, first + AT_ONCE) for first in range(0, max(len(sizes), 1), AT_ONCE)]

    def found(part: slice) -> Slopes:
        nobody = np.zeros(len(sizes[part]), np.bool_)
        return slopes_of_rows(used[part], years[part], sizes[part], nobody)

    many = list(side_by_side(found, parts))
    return Slopes(*(np.concatenate([getattr(one, name) for one in many]) for name in _FIGURES))


def _middle(values: Floats) -> Floats:
    """Median of what is known in each row; NaN for nothing."""
    ordered, known = np.sort(values, axis=1), np.isfinite(values).sum(axis=1)
    row = np.arange(len(values))
    below, above = np.maximum(known - 1, 0) // 2, np.minimum(known // 2, values.shape[1] - 1)
    return np.asarray((ordered[row, below] + ordered[row, above]) / 2)


def read_intervals(con: duckdb.DuckDBPyConnection) -> Intervals:
    """The ended intervals of the history of each unit in service; units without any left out."""
    named = """
        SELECT unit_serial,
        FROM fact.service
        SEMI JOIN (FROM fact.task_interval WHERE ended_on IS NOT NULL) USING (unit_serial)
        ORDER BY unit_serial
    """
    rows = read(
        con,
        f"""
        WITH place AS (
            SELECT unit_serial, row_number() OVER (ORDER BY unit_serial) - 1 AS place,
            FROM ({named})
        )
        SELECT place.place, ended_on, used_share, is_late,
        FROM fact.task_interval
        JOIN place USING (unit_serial)
        WHERE ended_on IS NOT NULL
        ORDER BY place.place, ended_on, task, from_on
        """,
    )
    epoch = date(1970, 1, 1).toordinal()
    return Intervals(
        read(con, named)["unit_serial"].to_list(),
        rows["place"].to_numpy(),
        rows["ended_on"].to_physical().to_numpy().astype(np.int64) + epoch,
        rows["used_share"].to_numpy(),
        rows["is_late"].to_numpy(),
    )


def habit_rows(
    con: duckdb.DuckDBPyConnection, window: Window, intervals: Intervals
) -> pl.DataFrame:
    """Rows of measure.habit, for units in service that have ended an interval."""
    sites = read(con, "SELECT unit_serial, site_id FROM fact.service")
    found = judge(intervals, window.as_of_on)
    rows = pl.DataFrame(
        {"unit_serial": intervals.subjects, **habit_columns(found)},
        schema_overrides={"unit_serial": pl.String},
    )
    return rows.join(sites, on="unit_serial", maintain_order="left")


def habit_columns(found: Habits) -> dict[str, pl.Series]:
    """What is said of each subject."""
    return {
        "interval_count": pl.Series(found.interval_count),
        "late_count": pl.Series(found.late_count),
        "lateness_slope": pl.Series(found.slopes.slope).fill_nan(None),
        "lateness_low": pl.Series(found.slopes.low).fill_nan(None),
        "lateness_high": pl.Series(found.slopes.high).fill_nan(None),
        "state": pl.Series(found.state.tolist(), dtype=pl.String),
    }
