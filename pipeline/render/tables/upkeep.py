"""Rows about maintenance and wear; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Annotated

from pipeline.render.tables.at_hand import AtHand
from pipeline.render.tables.reader import Reader, grouped
from pipeline.render.tables.spoken import Declared, by_language

_Words = Annotated[str, Declared("feature", "feature")]


@dataclass(frozen=True, slots=True)
class TaskDueRow:
    """When one maintenance task of one unit is due."""

    unit_serial: str
    site_id: str
    task: str
    last_done_on: date | None
    days_since: int | None
    cycles_since: int | None
    allowed_days: int | None
    allowed_cycles: int | None
    due_on: date | None
    used_share: float | None
    days_overdue: int | None
    cycles_overdue: int | None
    state: str
    reason: str
    source: str


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
class SiteHabitRow:
    """Whether the tasks of one role at a site, or its spore tests, are getting later."""

    site_id: str
    act: str
    role: str
    interval_count: int
    late_count: int
    lateness_slope: float | None
    lateness_low: float | None
    lateness_high: float | None
    lately_share: float | None
    before_share: float | None
    state: str


@dataclass(frozen=True, slots=True)
class RepairRow:
    """Equipment stops before and after one repair; shares are 0-1."""

    unit_serial: str
    repaired_on: date
    stopped_before: int
    run_before: int
    stopped_after: int
    run_after: int
    difference: float | None
    difference_low: float | None
    difference_high: float | None
    outcome: str


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
    baseline_on: date | None
    since_on: date | None
    baseline_low: float | None
    baseline_high: float | None
    latest: float | None
    slope_per_month: float | None
    slope_low: float | None
    slope_high: float | None
    weeks_outside: int | None
    state: str
    reason: str


@dataclass(frozen=True, slots=True)
class FeatureRow:
    """A measured value that shows wear."""

    feature: str
    title: _Words
    unit: str
    worse: str
    why: _Words
    fix: _Words


@dataclass(frozen=True, slots=True)
class WearUnitRow:
    """A unit with a value that may show wear."""

    unit_serial: str


class Upkeep(Reader):
    """Maintenance and wear."""

    @cached_property
    def tasks_due(self) -> dict[str, list[TaskDueRow]]:
        """Tasks by unit, that which has used most of its time first."""
        return grouped(self.rows("task_due", TaskDueRow), lambda row: row.unit_serial)

    @cached_property
    def habits(self) -> dict[str, HabitRow]:
        """Habits of maintenance by unit."""
        return {row.unit_serial: row for row in self.rows("habit", HabitRow)}

    @cached_property
    def site_habits(self) -> dict[str, list[SiteHabitRow]]:
        """Habits of tasks by role, and of spore tests, by site."""
        return grouped(self.rows("site_habit", SiteHabitRow), lambda row: row.site_id)

    @cached_property
    def repairs(self) -> dict[str, list[RepairRow]]:
        """Repairs of the year by unit, the earliest first."""
        return grouped(self.rows("repair", RepairRow), lambda row: row.unit_serial)

    @cached_property
    def tasks_done(self) -> AtHand[TaskDoneRow]:
        """The latest maintenance acts by unit."""
        return self.of_units("task_done", TaskDoneRow)

    @cached_property
    def wear(self) -> AtHand[WearWeekRow]:
        """Weekly values by unit."""
        return self.of_units("wear_week", WearWeekRow)

    @cached_property
    def worn(self) -> frozenset[str]:
        """The units that log a value that may show wear."""
        return frozenset(row.unit_serial for row in self.rows("wear_unit", WearUnitRow))

    @cached_property
    def drifts(self) -> AtHand[DriftRow]:
        """Drift of measured values by unit."""
        return self.of_units("drift", DriftRow)

    @cached_property
    def urgent_drifts(self) -> dict[str, list[DriftRow]]:
        """Those that left their range, by unit: few, and pages of many units ask for them."""
        return grouped(self.rows("drift_urgent", DriftRow), lambda row: row.unit_serial)

    @by_language
    def features(self) -> dict[str, FeatureRow]:
        """Measured values that show wear, by name."""
        return {row.feature: row for row in self.rows("feature", FeatureRow)}
