"""Equipment stops and load cycles by day, so that any span of days can be counted at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

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

    def since(self, from_on: Sequence[date], to_on: date) -> tuple[Counts, Counts]:
        """Stopped and run of each subject from a day of its own up to, but not on, another."""
        low = np.array([self._column(day) for day in from_on], np.int64)
        low, row = np.minimum(low, self._column(to_on)), np.arange(len(low))
        high = self._column(to_on)
        return (
            self.stopped_before[:, high] - self.stopped_before[row, low],
            self.run_before[:, high] - self.run_before[row, low],
        )

    def heard_from(self) -> list[date]:
        """The first day in the history on which each subject ran a load cycle, or its last day."""
        is_heard = self.run_before > 0
        columns = np.where(is_heard.any(axis=1), is_heard.argmax(axis=1), is_heard.shape[1]) - 1
        return [self.first_on + timedelta(days=int(column)) for column in columns]

    def _column(self, day: date) -> int:
        return min(max((day - self.first_on).days, 0), self.run_before.shape[1] - 1)


def count_by_day(con: duckdb.DuckDBPyConnection, window: Window, subject: str) -> DayCounts:
    """The counts of the history for each "unit_serial" or "site_id"."""
    rows = read(
        con,
        f"""
        SELECT {subject} AS subject,
            used_on - $history_on AS day_number,
            sum(equipment_count)::INTEGER AS stopped,
            sum(run_count)::INTEGER AS run,
        FROM fact.use_day
        GROUP BY subject, day_number
        """,
        history_on=window.history_on,
    )
    subjects = rows["subject"].unique().sort()
    where = subjects.search_sorted(rows["subject"]).to_numpy(), rows["day_number"].to_numpy() + 1
    shape = len(subjects), (window.to_on - window.history_on).days + 1
    stopped, run = np.zeros(shape, np.int32), np.zeros(shape, np.int32)
    stopped[where], run[where] = rows["stopped"].to_numpy(), rows["run"].to_numpy()
    return DayCounts(
        subjects.to_list(),
        window.history_on,
        np.cumsum(stopped, axis=1, dtype=np.int32),
        np.cumsum(run, axis=1, dtype=np.int32),
    )
