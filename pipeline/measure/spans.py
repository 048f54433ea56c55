"""Weekly middles of what tells of wear, as matrices: a row for each stretch between two services.

A span is one feature of one program of one unit since it was repaired, serviced, moved or
installed, until the next such day. Only what a unit did since then says how worn it is. Days are
ordinals; values are in the unit of their feature.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any, Self

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measure.catalogue import Feature
from pipeline.measure.intervals import Floats

NEVER = 10_000_000
"""Later than any day: fills the rows of `mondays` beyond their last week."""

Names = NDArray[np.object_]
Days = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Spans:
    """`mondays` and `middles` have a column a week with data, filled up with NEVER and NaN.

    `of_unit` and `of_feature` number units and features, both in the order of their names.
    `direction` is 1 where higher is worse and -1 where lower is. `is_current` is false for a span
    that a later service has ended.
    """

    unit: Names
    program: Names
    feature: Names
    of_unit: NDArray[np.int64]
    of_feature: NDArray[np.int64]
    direction: Floats
    begun_on: NDArray[np.int64]
    is_current: NDArray[np.bool_]
    mondays: Days
    middles: Floats

    def __len__(self) -> int:
        return len(self.unit)

    def taken(self, rows: NDArray[Any]) -> Self:
        """The spans of these rows."""
        fields = (getattr(self, name)[rows] for name in self.__slots__)
        return type(self)(*fields)

    def counts(self, day: date) -> NDArray[np.int64]:
        """How many weeks of each span were over at the end of this day."""
        return np.count_nonzero(self.mondays <= day.toordinal() - 6, axis=1)

    def pairs(self) -> NDArray[np.int64]:
        """A number for each unit and feature, the same for all of the unit's programs."""
        return self.of_unit * (self.of_feature.max(initial=0) + 1) + self.of_feature

    @classmethod
    def of(cls, rows: pl.DataFrame, features: tuple[Feature, ...]) -> Self:
        """From a row a week, sorted by unit_serial, program, feature, begun_on, week_on."""
        starts = np.flatnonzero(changes(rows, "unit_serial", "program", "feature", "begun_on"))
        return cls.cut(rows[starts], starts, ordinals(rows["week_on"]), rows["middle"], features)

    @classmethod
    def cut(
        cls,
        heads: pl.DataFrame,
        starts: NDArray[np.int64],
        mondays: Days,
        middles: pl.Series,
        features: tuple[Feature, ...],
    ) -> Self:
        """From weeks one after another and the places where a span starts; `heads` has a row each.

        Its columns are unit_serial, program, feature, begun_on and is_current.
        """
        sizes = np.diff(starts, append=len(mondays))
        row_of = np.repeat(np.arange(len(starts)), sizes)
        where = row_of, np.arange(len(mondays)) - starts[row_of]
        shape = len(starts), int(sizes.max(initial=0))
        matrices = np.full(shape, NEVER, np.int32), np.full(shape, np.nan)
        matrices[0][where], matrices[1][where] = mondays, middles.to_numpy()
        unit, feature = heads["unit_serial"], heads["feature"]
        better_low = {one.feature: 1.0 if one.worse == "higher" else -1.0 for one in features}
        return cls(
            unit.to_numpy().astype(object),
            heads["program"].to_numpy().astype(object),
            feature.to_numpy().astype(object),
            _numbers(unit),
            _numbers(feature),
            feature.replace_strict(better_low, return_dtype=pl.Float64).to_numpy(),
            ordinals(heads["begun_on"]).astype(np.int64),
            heads["is_current"].to_numpy(),
            *matrices,
        )


def changes(rows: pl.DataFrame, *columns: str) -> NDArray[np.bool_]:
    """True for the first row, and for each that differs from the one before in one of these."""
    is_other = (pl.col(column).ne_missing(pl.col(column).shift()) for column in columns)
    found = rows.select(pl.any_horizontal(*is_other)).to_series().to_numpy().copy()
    found[:1] = True
    return np.asarray(found)


def ordinals(days: pl.Series) -> Days:
    """Days as proleptic ordinals, as datetime counts them."""
    return np.asarray(days.to_physical().to_numpy() + np.int32(date(1970, 1, 1).toordinal()))


def _numbers(names: pl.Series) -> NDArray[np.int64]:
    return np.asarray(names.rank("dense").to_numpy().astype(np.int64) - 1)
