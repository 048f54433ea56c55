"""Weekly middles of what tells of wear, as matrices: a row for each stretch between two services.

A span is one feature of one program of one unit since it was repaired, serviced, moved or
installed, until the next such day. Only what a unit did since then says how worn it is. Days are
ordinals; values are in the unit of their feature.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Self

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measure.catalogue import Feature
from pipeline.measure.intervals import Floats
from pipeline.measure.resets import AFRESH
from pipeline.measure.tables import read
from pipeline.measure.window import Window

UNITS_AT_ONCE = 1000
"""Units read at a time, so that memory does not grow with the network."""
NEVER = 10_000_000
"""Later than any day: fills the rows of `mondays` beyond their last week."""

Names = NDArray[np.object_]


@dataclass(frozen=True, slots=True)
class Spans:
    """`mondays` and `middles` have a column a week with data, filled up with NEVER and NaN.

    `direction` is 1 where higher is worse and -1 where lower is. `is_current` is false for a span
    that a later service has ended.
    """

    unit: Names
    program: Names
    feature: Names
    direction: Floats
    begun_on: NDArray[np.int64]
    is_current: NDArray[np.bool_]
    mondays: NDArray[np.int64]
    middles: Floats

    def __len__(self) -> int:
        return len(self.unit)

    def taken(self, rows: NDArray[Any]) -> Self:
        """The spans of these rows."""
        fields = (getattr(self, name)[rows] for name in self.__slots__)
        return type(self)(*fields)

    def counts(self, day: date) -> NDArray[np.int64]:
        """How many weeks of each span were over at the end of this day."""
        return np.asarray((self.mondays + 6 <= day.toordinal()).sum(axis=1))

    @classmethod
    def of(cls, rows: pl.DataFrame, features: tuple[Feature, ...]) -> Self:
        """From rows sorted by unit_serial, program, feature, begun_on, week_on."""
        keys = ("unit_serial", "program", "feature", "begun_on")
        is_first = rows.select(
            pl.any_horizontal(*(pl.col(key).ne_missing(pl.col(key).shift()) for key in keys))
        ).to_series()
        starts = np.flatnonzero(is_first.fill_null(value=True).to_numpy())
        row_of = np.cumsum(is_first.fill_null(value=True).to_numpy()) - 1
        column_of = np.arange(len(rows)) - starts[row_of] if len(rows) else np.empty(0, np.int64)
        shape = len(starts), int(column_of.max() + 1) if len(rows) else 0
        mondays, middles = np.full(shape, NEVER, np.int64), np.full(shape, np.nan)
        mondays[row_of, column_of] = _ordinals(rows["week_on"])
        middles[row_of, column_of] = rows["middle"].to_numpy()
        heads = rows[starts]
        better_low = {one.feature: 1.0 if one.worse == "higher" else -1.0 for one in features}
        return cls(
            heads["unit_serial"].to_numpy().astype(object),
            heads["program"].to_numpy().astype(object),
            heads["feature"].to_numpy().astype(object),
            np.array([better_low[feature] for feature in heads["feature"]]),
            _ordinals(heads["begun_on"]),
            heads["is_current"].to_numpy(),
            mondays,
            middles,
        )


def _ordinals(days: pl.Series) -> NDArray[np.int64]:
    return days.to_physical().to_numpy().astype(np.int64) + date(1970, 1, 1).toordinal()


def read_spans(
    con: duckdb.DuckDBPyConnection, window: Window, features: tuple[Feature, ...]
) -> Iterator[Spans]:
    """All spans of the history, whole weeks only, some units in service at a time, by serial."""
    units = read(con, "SELECT unit_serial FROM fact.service ORDER BY unit_serial")["unit_serial"]
    for first in range(0, len(units), UNITS_AT_ONCE):
        portion = units[first : first + UNITS_AT_ONCE].to_list()
        yield spans_of(con, window, features, portion)


def spans_of(
    con: duckdb.DuckDBPyConnection,
    window: Window,
    features: tuple[Feature, ...],
    units: Sequence[str],
) -> Spans:
    """All spans of the history of these units, if they are in service."""
    rows = read(
        con,
        """
        WITH fresh AS (
            SELECT DISTINCT unit_serial, done_on,
            FROM model.task
            WHERE kind IN (SELECT unnest($afresh))
                AND done_on >= $history_on AND done_on <= $as_of_on
                AND unit_serial IN (SELECT unnest($units))
        ),
        latest AS (
            SELECT unit_serial, max(done_on) AS done_on,
            FROM fresh
            GROUP BY unit_serial
        ),
        week AS (
            SELECT week.*,
            FROM fact.wear_week AS week
            SEMI JOIN fact.service USING (unit_serial)
            WHERE week.unit_serial IN (SELECT unnest($units)) AND week.week_on + 7 <= $to_on
        )
        SELECT
            week.unit_serial,
            week.program,
            week.feature,
            coalesce(fresh.done_on, $history_on) AS begun_on,
            fresh.done_on IS NOT DISTINCT FROM latest.done_on AS is_current,
            week.week_on,
            week.middle,
        FROM week
        ASOF LEFT JOIN fresh
            ON fresh.unit_serial = week.unit_serial AND fresh.done_on < week.week_on
        LEFT JOIN latest ON latest.unit_serial = week.unit_serial
        ORDER BY week.unit_serial, week.program, week.feature, begun_on, week.week_on
        """,
        afresh=list(AFRESH),
        history_on=window.history_on,
        as_of_on=window.as_of_on,
        to_on=window.to_on,
        units=list(units),
    )
    return Spans.of(rows, features)
