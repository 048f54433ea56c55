"""Rows about maintenance, wear and single cycles; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class TaskDueRow:
    """When one maintenance task of one unit is due."""

    unit_serial: str
    site_id: str
    task: str
    last_done_on: date | None
    allowed_days: int | None
    allowed_cycles: int | None
    due_on: date | None
    used_share: float | None
    days_overdue: int | None
    cycles_overdue: int | None
    state: str
    source: str | None


@dataclass(frozen=True, slots=True)
class HabitRow:
    """Whether the maintenance of one unit is getting later."""

    unit_serial: str
    site_id: str
    interval_count: int
    late_count: int
    lateness_slope: float | None
    lateness_low: float | None
    lateness_high: float | None
    state: str


@dataclass(frozen=True, slots=True)
class TaskDoneRow:
    """One maintenance act and the line that reports it."""

    unit_serial: str
    task: str
    done_on: date
    counter: int | None
    by_role: str | None
    kind: str | None
    path: str
    content_sha: str
    line: int


@dataclass(frozen=True, slots=True)
class WearWeekRow:
    """The weekly middle values of one measured value, as lists of the same length."""

    unit_serial: str
    program: str
    feature: str
    week_on: list[date]
    middle: list[float]
    cycle_count: int


@dataclass(frozen=True, slots=True)
class DriftRow:
    """Whether one measured value of one unit left the range that the unit itself kept to."""

    unit_serial: str
    site_id: str
    program: str
    feature: str
    since_on: date | None
    baseline_low: float | None
    baseline_high: float | None
    latest: float | None
    slope_per_month: float | None
    slope_low: float | None
    slope_high: float | None
    weeks_outside: int | None
    state: str
    reason: str | None


@dataclass(frozen=True, slots=True)
class TraceRow:
    """The latest load cycle of one unit that was logged in full."""

    unit_serial: str
    cycle_number: int | None
    started_local: datetime
    program: str
    outcome: str
    set_celsius: float | None
    hold_seconds: float | None
    elapsed_seconds: list[float]
    chamber_celsius: list[float | None]
    chamber_kpa: list[float | None]
    path: str
    content_sha: str
    line: int
