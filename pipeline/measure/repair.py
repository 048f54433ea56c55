"""Did the repair help? Equipment stops before and after each, and the range of the difference.

A repair follows a bad spell, and after a bad spell things get better by themselves as well: an
improvement that chance alone does not explain is not yet proof of the repair. The day itself is
left out, because nobody knows on which side of it its loads were run.
"""

from datetime import date

import duckdb
import polars as pl

from pipeline.measure.day_counts import DayCounts
from pipeline.measure.difference import newcombe_interval
from pipeline.measure.resets import Resets
from pipeline.measure.tables import read
from pipeline.measure.window import Window

SPAN_DAYS = 56
"""Looked at on either side, as far as no other fresh start lies between. By judgement."""
LEAST_RUN = 20
"""Load cycles on either side, below which nothing is said of the repair."""


def repair_rows(
    con: duckdb.DuckDBPyConnection, window: Window, units: DayCounts, resets: Resets
) -> pl.DataFrame:
    """Rows of measure.repair: each repair of the year to a unit that ran in the history."""
    repairs = read(
        con,
        """
        SELECT DISTINCT unit_serial, done_on,
        FROM model.task
        WHERE kind = 'repair' AND done_on >= $from_on AND done_on < $to_on
        ORDER BY unit_serial, done_on
        """,
        from_on=window.from_on,
        to_on=window.to_on,
    )
    position = {unit: index for index, unit in enumerate(units.subjects)}
    rows = []
    for unit, done_on in repairs.iter_rows():
        if unit in position:
            index = position[unit]
            fresh = resets.days[resets.of_unit == index].tolist()
            rows.append({"unit_serial": unit, "repaired_on": done_on}
                        | _sides(units, index, done_on, fresh, window.to_on))  # fmt: skip
    return pl.DataFrame(rows, infer_schema_length=None)


def _sides(
    units: DayCounts, index: int, done_on: date, fresh: list[int], to_on: date
) -> dict[str, object]:
    day, end = done_on.toordinal(), to_on.toordinal()
    begun = max([day - SPAN_DAYS, *(one + 1 for one in fresh if one < day)])
    ended = min([day + 1 + SPAN_DAYS, end, *(one for one in fresh if one > day)])
    stopped_before, run_before = _counted(units, index, begun, day)
    stopped_after, run_after = _counted(units, index, day + 1, ended)
    found = newcombe_interval(stopped_after, run_after, stopped_before, run_before)
    columns = {
        "before_on": date.fromordinal(begun),
        "after_to_on": date.fromordinal(ended),
        "stopped_before": stopped_before,
        "run_before": run_before,
        "stopped_after": stopped_after,
        "run_after": run_after,
        "difference": None,
        "difference_low": None,
        "difference_high": None,
        "outcome": "too_few",
    }
    if found is None:
        return columns
    columns |= {
        "difference": stopped_after / run_after - stopped_before / run_before,
        "difference_low": found.low,
        "difference_high": found.high,
    }
    if min(run_before, run_after) >= LEAST_RUN:
        columns["outcome"] = (
            "fewer" if found.high < 0 else "more" if found.low > 0 else "cannot_tell"
        )
    return columns


def _counted(units: DayCounts, index: int, from_on: int, to_on: int) -> tuple[int, int]:
    if to_on <= from_on:
        return 0, 0
    days = date.fromordinal(from_on), date.fromordinal(to_on)
    stopped, run = units.between(*days)
    return int(stopped[index]), int(run[index])
