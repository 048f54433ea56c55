"""The days from which a unit starts afresh: repaired, serviced, moved or installed.

What it did before such a day says nothing of how it is since.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Self

import duckdb
import numpy as np
from numpy.typing import NDArray

from pipeline.measure.tables import read
from pipeline.measure.window import Window

AFRESH = ("repair", "service", "relocation", "installation")
"""Kinds of task after which a unit is another unit, as far as wear goes."""


@dataclass(frozen=True, slots=True)
class Resets:
    """Fresh starts by unit and day, in that order; `of_unit` are positions among all subjects."""

    subject_count: int
    of_unit: NDArray[np.int64]
    days: NDArray[np.int64]

    @classmethod
    def none(cls, subject_count: int) -> Self:
        """No unit ever started afresh."""
        empty = np.empty(0, np.int64)
        return cls(subject_count, empty, empty)

    def on(self, day: date) -> NDArray[np.int64]:
        """Units that start afresh with the day after this one."""
        return self.of_unit[self.days == day.toordinal()]

    def fresh_from(self, day: date, earliest: date) -> NDArray[np.int64]:
        """For each unit the first day that counts on a day, an ordinal: after its last reset."""
        latest = np.full(self.subject_count, earliest.toordinal())
        is_in = (self.days >= earliest.toordinal()) & (self.days <= day.toordinal())
        np.maximum.at(latest, self.of_unit[is_in], self.days[is_in] + 1)
        return latest


def read_resets(con: duckdb.DuckDBPyConnection, window: Window, subjects: list[str]) -> Resets:
    """Fresh starts of the history, for these units."""
    rows = read(
        con,
        """
        SELECT DISTINCT unit_serial, done_on,
        FROM model.task
        WHERE kind IN (SELECT unnest($afresh)) AND done_on >= $history_on AND done_on <= $as_of_on
        ORDER BY unit_serial, done_on
        """,
        afresh=list(AFRESH),
        history_on=window.history_on - timedelta(days=1),
        as_of_on=window.as_of_on,
    )
    position = {unit: index for index, unit in enumerate(subjects)}
    known = [
        (position[unit], day.toordinal()) for unit, day in rows.iter_rows() if unit in position
    ]
    found = np.array(known, np.int64).reshape(-1, 2)
    return Resets(len(subjects), found[:, 0], found[:, 1])
