"""A practice profile, as it is declared and as it holds with all that it inherits."""

from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from pipeline.practice.rules import EVER_SINCE, Rule

AnyRule = TypeVar("AnyRule", bound=Rule)


@dataclass(frozen=True, slots=True)
class Dropped:
    """An inherited rule that is not asked for, named like "task/gasket_replace", and why not."""

    table: str
    name: str
    reason: str
    valid_from: date = EVER_SINCE
    valid_to: date | None = None


@dataclass(frozen=True, slots=True)
class Declared:
    """What one file says, its entries by name and day; `inherits` names another profile."""

    name: str
    title: str
    asks: str
    jurisdiction: str
    reviewed_on: date
    inherits: str | None
    is_for_sites: bool
    entries: tuple[Rule | Dropped, ...]


@dataclass(frozen=True, slots=True)
class Loosening:
    """Where a profile asks for less than one it inherits from, since when, and why."""

    rule: Rule
    """What the ancestor asks for, over the days on which less is asked."""
    ancestor: "Profile"
    instead: Rule | None
    """None when it is not asked for at all."""
    reason: str | None


@dataclass(frozen=True, slots=True)
class Spell:
    """The days, without to_on, on which a site follows a profile; to_on is None while it does."""

    practice: str
    from_on: date
    to_on: date | None


@dataclass(frozen=True, slots=True)
class Profile:
    """The rules that hold for the sites of one jurisdiction or policy, each with its source.

    `parents` are the profiles it inherits from, the nearest first; `spells` the profiles, by day,
    of which it is made for sites that change theirs.
    """

    name: str
    title: str
    asks: str
    jurisdiction: str
    reviewed_on: date
    is_for_sites: bool
    parents: tuple[str, ...]
    rules: tuple[Rule, ...]
    loosenings: tuple[Loosening, ...]
    spells: tuple[Spell, ...] = ()

    def of(self, kind: type[AnyRule]) -> tuple[AnyRule, ...]:
        """Its rules of one kind, by name and first day."""
        return tuple(rule for rule in self.rules if isinstance(rule, kind))
