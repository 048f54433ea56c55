"""Rows about stopped cycles; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class RecentRow:
    """The last 28 days of one unit against what is usual for it."""

    unit_serial: str
    site_id: str
    stopped_count: int
    run_count: int
    expected_count: float | None


@dataclass(frozen=True, slots=True)
class StopWeekRow:
    """The weeks of one unit at one site, as lists of the same length."""

    unit_serial: str
    site_id: str
    week_on: list[date]
    run_count: list[int]
    equipment_count: list[int]


@dataclass(frozen=True, slots=True)
class StopPeriodRow:
    """Four weeks of one unit."""

    unit_serial: str
    period_on: date
    run_count: int
    stopped_count: int
    usual_share: float | None
    limit_share: float | None
    is_above: bool | None
    reason: str | None


@dataclass(frozen=True, slots=True)
class StopReasonRow:
    """How often one unit stopped for one reason."""

    unit_serial: str
    site_id: str
    stop_reason: str
    stop_family: str
    stopped_count: int


@dataclass(frozen=True, slots=True)
class StoppedCycleRow:
    """One stopped cycle and the line that reports it."""

    unit_serial: str
    cycle_number: int | None
    started_local: datetime
    program: str
    stop_reason: str
    stop_family: str
    is_false_start: bool
    path: str
    content_sha: str
    line: int


@dataclass(frozen=True, slots=True)
class FunnelRow:
    """The limits of the funnel at one volume."""

    level: str
    denominator: int
    low_outer: float | None
    low_inner: float | None
    high_inner: float | None
    high_outer: float | None
