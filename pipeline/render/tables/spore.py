"""Rows about spore tests; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class SporeWeekRow:
    """The weeks of one unit and what became of each."""

    unit_serial: str
    week_on: list[date]
    state: list[str]


@dataclass(frozen=True, slots=True)
class SporeDueRow:
    """When the next spore test of one unit is due."""

    unit_serial: str
    site_id: str
    last_valid_on: date | None
    due_on: date | None
    days_overdue: int | None
    cycles_while_overdue: int | None
    pending_since_on: date | None
    is_in_use: bool | None
    weeks_in_use: int
    weeks_on_time: int
    longest_gap_days: int | None
    state: str
    reason: str | None


@dataclass(frozen=True, slots=True)
class SporeTestRow:
    """One spore test and the line that reports it."""

    unit_serial: str
    test_id: str | None
    exposed_local: datetime
    purpose: str | None
    read_local: datetime | None
    state: str
    lot: str | None
    path: str
    content_sha: str
    line: int


@dataclass(frozen=True, slots=True)
class PendingRow:
    """Spore tests of one site whose result has not been given."""

    site_id: str
    pending_count: int
