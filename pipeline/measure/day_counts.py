"""Equipment stops and load cycles by day, so that any span of days can be counted at once."""

from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np
from numpy.typing import NDArray

from pipeline.measure.tables import read
from pipeline.measure.window import Window

Counts = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class DayCounts:
    """Running totals: column d holds what was counted before the d-th day of the history."""

    subjects: list[str]
    first_on: date
    stopped_before: Counts
    run_before: Counts

    def between(self, from_on: date, to_on: date) -> tuple[Counts, Counts]:
        """Stopped and run of each subject from one day up to, but not on, another."""
        low, high = self._column(from_on), self._column(to_on)
        return (
            self.stopped_before[:, high] - self.stopped_before[:, low],
            self.run_before[:, high] - self.run_before[:, low],
        )

    def since(self, from_on: NDArray[np.int64], to_on: date) -> tuple[Counts, Counts]:
        """Stopped and run of each subject from a day of its own, an ordinal, up to another."""
        high = self._column(to_on)
        low = np.clip(from_on - self.first_on.toordinal(), 0, high)
        row = np.arange(len(low))
        return (
            self.stopped_before[:, high] - self.stopped_before[row, low],
            self.run_before[:, high] - self.run_before[row, low],
        )

    def heard_from(self) -> list[date]:
        """The first day in the history on which each subject ran a load cycle, or its last day."""
        return [date.fromordinal(day) for day in self.heard_days().tolist()]

    def heard_days(self) -> NDArray[np.int64]:
        """The same as ordinals."""
        # Running totals never fall, so the last that is 0 is found by halving.
        row, size = np.arange(len(self.subjects)), self.run_before.shape[1]
        low, high = np.zeros(len(row), np.int64), np.full(len(row), size)
        for _ in range(size.bit_length()):
            middle = (low + high) // 2
            is_zero = self.run_before[row, middle] == 0
            low, high = np.where(is_zero, middle, low), np.where(is_zero, high, middle)
        return low + self.first_on.toordinal()

    def _column(self, day: date) -> int:
        return min(max((day - self.first_on).days, 0), self.run_before.shape[1] - 1)


def count_by_day(con: duckdb.DuckDBPyConnection, window: Window, subject: str) -> DayCounts:
    """The counts of the history for each "unit_serial" or "site_id"."""
    rows = read(
        con,
        f"""
        WITH named AS (
            SELECT {subject}, row_number() OVER (ORDER BY {subject}) - 1 AS place,
            FROM (SELECT DISTINCT {subject} FROM fact.use_day)
        )
        SELECT
            named.place::INTEGER AS place,
            (use_day.used_on - $history_on)::SMALLINT AS day_number,
            use_day.equipment_count::INTEGER AS stopped,
            use_day.run_count::INTEGER AS run,
        FROM fact.use_day AS use_day
        JOIN named USING ({subject})
        """,
        history_on=window.history_on,
    )
    names = f"SELECT DISTINCT {subject} AS subject FROM fact.use_day ORDER BY subject"
    subjects = read(con, names)["subject"].to_list()
    where = rows["day_number"].to_numpy() + 1, rows["place"].to_numpy()
    # A day's counts lie side by side, because they are asked for by days.
    shape = (window.to_on - window.history_on).days + 1, len(subjects)
    stopped, run = np.zeros(shape, np.int32), np.zeros(shape, np.int32)
    # Units of a site add up.
    np.add.at(stopped, where, rows["stopped"].to_numpy())
    np.add.at(run, where, rows["run"].to_numpy())
    return DayCounts(
        subjects,
        window.history_on,
        np.cumsum(stopped, axis=0, out=stopped).T,
        np.cumsum(run, axis=0, out=run).T,
    )
