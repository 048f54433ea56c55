"""Rows about routine tests and certificates; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property

from pipeline.render.tables.reader import Reader, grouped
from pipeline.render.tables.spoken import Spoken, by_language


@dataclass(frozen=True, slots=True)
class RoutineRow:
    """How one routine test or check of one unit was done in the twelve months."""

    unit_serial: str
    site_id: str
    test: str
    kind: str
    asks: Spoken | None
    asked_count: int
    done_count: int
    late_count: int
    failed_count: int
    unseen_count: int
    missed_count: int
    lately_asked_count: int
    lately_missed_count: int
    last_on: date | None
    state: str
    reason: str
    source: str
    confidence: str


@dataclass(frozen=True, slots=True)
class RecurringRow:
    """A routine test that days or weeks of one unit ask for, and when it was last run or missed.

    `weekdays` are those on which the unit runs, 1 Monday; `closed_on` days that are to come.
    """

    unit_serial: str
    test: str
    kind: str
    asks: Spoken | None
    days: int | None
    week_starts: int
    weekdays: list[int]
    tested_on: date | None
    missed_on: date | None
    closed_on: list[date]


@dataclass(frozen=True, slots=True)
class CertificateRow:
    """When one certificate of one unit expires."""

    unit_serial: str
    site_id: str
    task: str
    issued_on: date | None
    expires_on: date | None
    days_left: int | None
    state: str
    reason: str


@dataclass(frozen=True, slots=True)
class TaskBookRow:
    """What in one unit's book of tasks looks filled in afterwards."""

    unit_serial: str
    act_count: int
    noted_twice_count: int
    closed_count: int
    counter_count: int
    round_count: int
    same_counter_count: int
    interval_count: int
    early_count: int
    together_count: int
    is_same_counter: bool
    is_round: bool
    is_closed: bool
    is_early: bool
    is_twice: bool


class Routine(Reader):
    """Routine tests, certificates and how the book of tasks was kept."""

    @by_language
    def routines(self) -> dict[str, list[RoutineRow]]:
        """Routine tests by unit."""
        return grouped(self.rows("routine", RoutineRow), lambda row: row.unit_serial)

    @by_language
    def recurring(self) -> dict[str, list[RecurringRow]]:
        """Routine tests that days or weeks ask for, by unit."""
        return grouped(self.rows("recurring", RecurringRow), lambda row: row.unit_serial)

    @cached_property
    def certificates(self) -> dict[str, list[CertificateRow]]:
        """Certificates by unit, that which expires first before the others."""
        return grouped(self.rows("certificate", CertificateRow), lambda row: row.unit_serial)

    @cached_property
    def task_books(self) -> dict[str, TaskBookRow]:
        """Books that look filled in afterwards, by unit."""
        return {row.unit_serial: row for row in self.rows("task_book", TaskBookRow)}
