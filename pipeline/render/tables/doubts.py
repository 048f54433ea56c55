"""Rows about what the logs contradict or leave in doubt; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

from pipeline.render.tables.reader import Reader


@dataclass(frozen=True, slots=True)
class ConflictRow:
    """A value in which two copies of one cycle or test differ."""

    kind: str
    unit_serial: str
    site_id: str
    told_on: date
    name: str
    column_name: str
    used_value: str
    other_value: str
    used_path: str
    used_line: int
    other_path: str
    other_line: int


@dataclass(frozen=True, slots=True)
class OrphanRow:
    """A spore test that no cycle bears out; `is_orphan` is None where it cannot be told."""

    unit_serial: str
    site_id: str
    test_id: str
    exposed_on: date
    cycle_number: int | None
    orphan_reason: str
    is_orphan: bool | None
    state: str
    near_number: int | None
    path: str
    line: int


@dataclass(frozen=True, slots=True)
class ClockRow:
    """A stretch in which a unit's clock looks wrong."""

    unit_serial: str
    site_id: str
    from_on: date
    to_on: date | None
    suspected_offset_minutes: int
    evidence: str
    strength: str


@dataclass(frozen=True, slots=True)
class CounterRow:
    """A new beginning of a unit's counter."""

    unit_serial: str
    site_id: str
    from_utc: datetime
    last_number: int
    from_number: int
    missing_count: int
    reason: str


@dataclass(frozen=True, slots=True)
class UnknownStopRow:
    """Stops that a feed reports of a site, and those without a known reason."""

    feed: str
    site_id: str
    stopped_count: int
    unknown_count: int


class Doubts(Reader):
    """Conflicts, orphans, clocks and counters."""

    @cached_property
    def conflicts(self) -> list[ConflictRow]:
        """Values in which copies differ, latest first."""
        return self.rows("conflict", ConflictRow)

    @cached_property
    def orphans(self) -> list[OrphanRow]:
        """Spore tests without their cycle, those that are certain first."""
        return self.rows("orphan", OrphanRow)

    @cached_property
    def clocks(self) -> list[ClockRow]:
        """Clocks that look wrong, strong evidence first."""
        return self.rows("clock", ClockRow)

    @cached_property
    def counters(self) -> list[CounterRow]:
        """Counters that began anew, latest first."""
        return self.rows("counter_segment", CounterRow)

    @cached_property
    def unknown_stops(self) -> list[UnknownStopRow]:
        """Feeds and sites with stops for no known reason, most first."""
        return self.rows("unknown_stop", UnknownStopRow)
