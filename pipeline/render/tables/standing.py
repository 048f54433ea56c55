"""Rows that say how a unit, site or region stands; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Annotated

from pipeline.render.tables.reader import Reader, grouped
from pipeline.render.tables.spoken import Declared, Spoken, by_language

_Words = Annotated[str, Declared("measure", "measure")]


@dataclass(frozen=True, slots=True)
class StateRow:
    """The state of one unit, site, region or of the network."""

    level: str
    subject_id: str
    state: str
    kind: str | None
    reason: Spoken | None


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One thing that needs a person; without a unit when it is of the whole site.

    `rule` and `source` are of the practice that asks for it; None where no rule does.
    """

    finding_id: str
    unit_serial: str | None
    site_id: str
    kind: str
    state: str
    since_on: date
    why: Spoken
    next_step: Spoken
    owner: str | None
    rule: str | None = None
    source: Spoken | None = None
    counted_on: date | None = None


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
    p_tenth: float | None
    expected_count: float | None
    ratio: float | None
    ratio_low: float | None
    ratio_high: float | None
    likely_ratio: float | None
    likely_ratio_low: float | None
    likely_ratio_high: float | None
    is_ranked: bool
    reason: Spoken | None


@dataclass(frozen=True, slots=True)
class CoverageRow:
    """What was heard from one unit."""

    unit_serial: str
    site_id: str
    first_on: date | None
    last_on: date | None
    heard_on: date | None
    cycle_count: int
    missing_count: int
    false_start_count: int
    days_silent: int | None
    state: str
    reason: str


@dataclass(frozen=True, slots=True)
class MeasureRow:
    """What one measure counts, and why."""

    measure: str
    title: _Words
    numerator: _Words
    denominator: _Words
    better: str
    target: float | None
    minimum: int
    is_ranked: bool
    why: _Words
    fix: _Words
    owner: str
    source: str
    reviewed_on: date


class Standing(Reader):
    """How everything stands."""

    @by_language
    def states(self) -> dict[tuple[str, str], StateRow]:
        """States by level and subject."""
        rows = self.rows("state", StateRow)
        return {(row.level, row.subject_id): row for row in rows}

    @by_language
    def findings(self) -> list[FindingRow]:
        """All findings, most urgent first."""
        return self.rows("finding", FindingRow)

    @by_language
    def findings_of_site(self) -> dict[str, list[FindingRow]]:
        """The findings of each site in the same order; a large network has thousands of pages."""
        return grouped(self.findings, lambda row: row.site_id)

    @cached_property
    def follow_ups(self) -> dict[str, list[FollowUpRow]]:
        """What was done, by finding, latest first."""
        rows = self.rows("follow_up", FollowUpRow)
        return grouped(rows, lambda row: row.finding_id)

    @by_language
    def rankings(self) -> dict[tuple[str, str, str], RankingRow]:
        """Measures by measure, level and subject."""
        rows = self.rows("ranking", RankingRow)
        return {(row.measure, row.level, row.subject_id): row for row in rows}

    @cached_property
    def coverage(self) -> dict[str, CoverageRow]:
        """What was heard, by unit."""
        rows = self.rows("coverage", CoverageRow)
        return {row.unit_serial: row for row in rows}

    @by_language
    def measures(self) -> list[MeasureRow]:
        """Every measure, the ranked ones first."""
        return self.rows("catalogue", MeasureRow)
