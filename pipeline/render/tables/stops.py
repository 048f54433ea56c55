"""Rows about stopped cycles; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

from pipeline.render.tables.at_hand import AtHand
from pipeline.render.tables.reader import Reader, grouped


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
    equipment_count: int
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
    dispersion: float
    low_outer: float
    low_inner: float
    high_inner: float
    high_outer: float
    widening: str
    between_share: float


class Stops(Reader):
    """Stopped cycles."""

    @cached_property
    def recent(self) -> dict[str, RecentRow]:
        """The last 28 days by unit."""
        return {row.unit_serial: row for row in self.rows("recent", RecentRow)}

    @cached_property
    def stop_weeks(self) -> dict[tuple[str, str], list[StopWeekRow]]:
        """Weeks by level (unit or site) and subject; a unit that moved has rows at two sites."""
        rows = self.rows("stop_week", StopWeekRow)
        units = grouped(rows, lambda row: ("unit", row.unit_serial))
        return units | grouped(rows, lambda row: ("site", row.site_id))

    @cached_property
    def stop_periods(self) -> AtHand[StopPeriodRow]:
        """Periods of 28 days by unit, oldest first."""
        return self.of_units("stop_period", StopPeriodRow)

    @cached_property
    def stop_reasons(self) -> dict[str, list[StopReasonRow]]:
        """Reasons by unit; a unit that moved has rows at two sites."""
        return grouped(self.rows("stop_reason", StopReasonRow), lambda row: row.unit_serial)

    @cached_property
    def network_reasons(self) -> dict[str, int]:
        """How often each reason was recorded in the whole network."""
        counts: dict[str, int] = {}
        for rows in self.stop_reasons.values():
            for row in rows:
                counts[row.stop_reason] = counts.get(row.stop_reason, 0) + row.stopped_count
        return counts

    @cached_property
    def stopped_cycles(self) -> AtHand[StoppedCycleRow]:
        """Stopped cycles by unit, latest first."""
        return self.of_units("stopped_cycle", StoppedCycleRow)

    @cached_property
    def funnel(self) -> dict[str, list[FunnelRow]]:
        """Funnel limits by level, by rising volume."""
        return grouped(self.rows("funnel", FunnelRow), lambda row: row.level)
