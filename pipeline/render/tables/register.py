"""Rows of the registers and of the practice profiles; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class SiteRow:
    """One site that counts in the twelve months."""

    site_id: str
    name: str
    region: str
    region_id: str
    altitude_m: float
    practice: str
    opened_on: date
    closed_on: date | None
    owner: str | None


@dataclass(frozen=True, slots=True)
class UnitRow:
    """One sterilizer that was in service on any day of the twelve months."""

    unit_serial: str
    site_id: str
    label: str
    air_removal: str
    from_on: date
    to_on: date | None
    is_in_service: bool


@dataclass(frozen=True, slots=True)
class UnregisteredRow:
    """A serial that the logs know and the register does not."""

    unit_serial: str
    site_id: str
    cycle_count: int


@dataclass(frozen=True, slots=True)
class ProfileRow:
    """A practice profile that a site follows."""

    practice: str
    title: str
    source: str
    reviewed_on: date


@dataclass(frozen=True, slots=True)
class SporeRuleRow:
    """How often a profile asks for a spore test."""

    practice: str
    kind: str
    days: int | None
    grace_days: int | None
    source: str


@dataclass(frozen=True, slots=True)
class TaskRuleRow:
    """How often a profile asks for a maintenance task: days or cycles, whichever comes first."""

    practice: str
    task: str
    days: int | None
    cycles: int | None
    source: str
    who: str | None
