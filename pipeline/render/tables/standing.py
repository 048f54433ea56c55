"""Rows that say how a unit, site or region stands; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class StateRow:
    """The state of one unit, site, region or of the network."""

    level: str
    subject_id: str
    state: str
    kind: str | None
    reason: str | None


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One thing that needs a person."""

    finding_id: str
    unit_serial: str
    site_id: str
    kind: str
    state: str
    since_on: date | None
    why: str
    next_step: str
    owner: str | None


@dataclass(frozen=True, slots=True)
class FollowUpRow:
    """What a person did about a finding."""

    finding_id: str
    done_on: date
    by_role: str | None
    action: str | None
    state: str | None


@dataclass(frozen=True, slots=True)
class RankingRow:
    """One measure of one subject: x of n, both intervals, and its place as a range."""

    measure: str
    level: str
    subject_id: str
    numerator: int
    denominator: int
    share: float | None
    low: float | None
    high: float | None
    likely: float | None
    likely_low: float | None
    likely_high: float | None
    position_low: int | None
    position_high: int | None
    position_count: int | None
    p_worse: float | None
    is_ranked: bool
    reason: str | None


@dataclass(frozen=True, slots=True)
class CoverageRow:
    """What was heard from one unit."""

    unit_serial: str
    site_id: str
    first_on: date | None
    last_on: date | None
    cycle_count: int
    missing_count: int
    false_start_count: int
    days_silent: int | None
    state: str
    reason: str | None
