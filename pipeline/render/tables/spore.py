"""Rows about spore tests; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

from pipeline.render.tables.at_hand import AtHand
from pipeline.render.tables.reader import Reader, grouped
from pipeline.render.tables.spoken import Spoken, by_language


@dataclass(frozen=True, slots=True)
class HeldTestRow:
    """A record about a spore test of a unit that was held, and the week in which it was exposed."""

    unit_serial: str
    week_on: date
    site_id: str
    path: str
    content_sha: str
    line: int


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
    is_forecast: bool
    program: str | None
    asks: Spoken | None
    days_overdue: int | None
    cycles_while_overdue: int | None
    pending_since_on: date | None
    growth_on: date | None
    is_in_use: bool | None
    weeks_in_use: int
    weeks_on_time: int
    longest_gap_days: int | None
    state: str
    reason: str


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


@dataclass(frozen=True, slots=True)
class LookbackRow:
    """A load cycle that a growth calls in question, or would if there were one."""

    incident_id: str
    unit_serial: str
    cycle_id: str
    started_local: datetime
    program: str
    outcome: str
    load_id: str | None
    load_kind: str | None
    is_implant: bool
    released: str | None
    last_valid_on: date | None
    growth_on: date | None
    is_open: bool
    path: str
    line: int


@dataclass(frozen=True, slots=True)
class IncidentRow:
    """A growth of the twelve months, up to the valid negative that cleared it."""

    incident_id: str
    steps_id: str
    unit_serial: str
    site_id: str
    test_id: str
    growth_on: date
    known_on: date | None
    growth_count: int
    program: str | None
    last_valid_on: date | None
    cleared_on: date | None
    path: str
    content_sha: str
    line: int


@dataclass(frozen=True, slots=True)
class IncidentStepRow:
    """One thing that the practice asks for after a growth, and what the logs show of it."""

    incident_id: str
    step: str
    condition: str
    test_count: int | None
    due_on: date | None
    state: str
    done_on: date | None
    count: int | None
    path: str | None
    content_sha: str | None
    line: int | None
    source: str
    confidence: str


class Spore(Reader):
    """Spore tests."""

    @cached_property
    def spore_weeks(self) -> AtHand[SporeWeekRow]:
        """Weeks of spore tests by unit, in one row."""
        return self.of_units("spore_week", SporeWeekRow)

    def weeks_of(self, unit_serial: str) -> SporeWeekRow | None:
        """The weeks of spore tests of a unit; None where it has none."""
        return next(iter(self.spore_weeks.get(unit_serial, [])), None)

    @cached_property
    def held_tests(self) -> dict[str, list[HeldTestRow]]:
        """Records about spore tests that were held, by unit and week."""
        return grouped(self.rows("held_test", HeldTestRow), lambda row: row.unit_serial)

    @by_language
    def spore_due(self) -> dict[str, SporeDueRow]:
        """The next spore test by unit."""
        return {row.unit_serial: row for row in self.rows("spore_due", SporeDueRow)}

    @cached_property
    def spore_tests(self) -> AtHand[SporeTestRow]:
        """Spore tests by unit, latest first."""
        return self.of_units("spore_test", SporeTestRow)

    @cached_property
    def pending(self) -> dict[str, int]:
        """Spore tests without a result, by site."""
        rows = self.rows("pending", PendingRow)
        return {row.site_id: row.pending_count for row in rows}

    @cached_property
    def lookbacks(self) -> dict[str, list[LookbackRow]]:
        """Load cycles that a growth calls in question, by incident, those with implants first."""
        return grouped(self.rows("lookback", LookbackRow), lambda row: row.incident_id)

    @cached_property
    def since_valid(self) -> dict[str, list[LookbackRow]]:
        """Load cycles since the last valid negative, by unit in service."""
        return grouped(self.rows("since_valid", LookbackRow), lambda row: row.unit_serial)

    @cached_property
    def incidents(self) -> dict[str, list[IncidentRow]]:
        """Growths of the twelve months by unit, latest first."""
        return grouped(self.rows("incident", IncidentRow), lambda row: row.unit_serial)

    @cached_property
    def incident_of(self) -> dict[str, str]:
        """The growth that a finding is about, by the id of the finding: of it or of its steps."""
        return {
            finding_id: one.incident_id
            for rows in self.incidents.values()
            for one in rows
            for finding_id in (one.incident_id, one.steps_id)
        }

    @cached_property
    def incident_steps(self) -> dict[str, list[IncidentStepRow]]:
        """What the practice asks for after a growth, by incident."""
        rows = self.rows("incident_step", IncidentStepRow)
        return grouped(rows, lambda row: row.incident_id)
