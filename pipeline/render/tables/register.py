"""Rows of the registers and of the practice profiles; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Annotated

from pipeline.render.tables.reader import Reader, grouped
from pipeline.render.tables.spoken import Declared, Spoken, by_language


@dataclass(frozen=True, slots=True)
class SiteRow:
    """One site that counts in the twelve months; `practice` is the profile of the as-of day."""

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

    unit_serial: str | None
    site_id: str
    row_count: int
    cycle_count: int


@dataclass(frozen=True, slots=True)
class ProfileRow:
    """A practice profile that a site follows."""

    practice: str
    title: Annotated[str, Declared("profile", "practice")]
    asks: str
    jurisdiction: str
    reviewed_on: date
    unsure: Spoken
    parents: list[str]


@dataclass(frozen=True, slots=True)
class FollowedRow:
    """A profile of a site that changes its profile; `from_on` is None for the first."""

    site_id: str
    practice: str
    from_on: date | None
    to_on: date | None


@dataclass(frozen=True, slots=True)
class RuleRow:
    """One rule of a profile in plain words; `valid_from` is None where it has held all along."""

    practice: str
    place: int
    section: str
    what: Spoken
    asks: Spoken
    who: str | None
    valid_from: date | None
    valid_to: date | None
    past_on: date | None
    source: str
    confidence: str


@dataclass(frozen=True, slots=True)
class LooseningRow:
    """A rule in which a profile asks for less than one that it inherits from, and why."""

    practice: str
    rule: str
    ancestor: str
    what: Spoken
    ancestor_asks: Spoken
    asks: Spoken
    reason: str


class Register(Reader):
    """The registers and the practice profiles."""

    @cached_property
    def sites(self) -> dict[str, SiteRow]:
        """Sites by id, in the order of their names."""
        return {row.site_id: row for row in self.rows("site", SiteRow)}

    @cached_property
    def units(self) -> dict[str, UnitRow]:
        """Units by serial."""
        return {row.unit_serial: row for row in self.rows("unit", UnitRow)}

    @cached_property
    def units_of_site(self) -> dict[str, list[UnitRow]]:
        """Units by the site at which they are registered."""
        return grouped(self.units.values(), lambda row: row.site_id)

    @cached_property
    def unregistered(self) -> list[UnregisteredRow]:
        """Serials that only the logs know."""
        return self.rows("unregistered", UnregisteredRow)

    @by_language
    def profiles(self) -> dict[str, ProfileRow]:
        """Practice profiles by name."""
        return {row.practice: row for row in self.rows("profile", ProfileRow)}

    @cached_property
    def followed(self) -> dict[str, list[FollowedRow]]:
        """The profiles of each site that changes its profile, by day."""
        return grouped(self.rows("followed", FollowedRow), lambda row: row.site_id)

    @by_language
    def rules(self) -> dict[str, list[RuleRow]]:
        """Rules by profile, in the order in which they are printed."""
        return grouped(self.rows("rule", RuleRow), lambda row: row.practice)

    @by_language
    def loosenings(self) -> dict[str, list[LooseningRow]]:
        """Where less is asked than an inherited profile asks, by profile."""
        return grouped(self.rows("loosening", LooseningRow), lambda row: row.practice)
