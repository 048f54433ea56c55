"""The rules of a site that follows one profile after another, as one profile of dated rules.

Each rule holds on the days on which its profile does, so facts read versions of a rule and need
not know that a profile changed.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from pipeline.config.network import Site
from pipeline.practice.periods import full_name, within
from pipeline.practice.profile import Profile, Spell
from pipeline.practice.rules import EVER_SINCE, Rule


@dataclass(frozen=True, slots=True, kw_only=True)
class _Days(Rule):
    """The days of a spell, in the shape in which rules are cut."""

    table = "spell"
    key = ()


def spells_of(site: Site) -> tuple[Spell, ...]:
    """The profiles of a site, each up to the first day of the next."""
    firsts = (EVER_SINCE, *(one.from_on for one in site.changes))
    lasts = (*firsts[1:], None)
    names = (site.practice, *(one.practice for one in site.changes))
    return tuple(map(Spell, names, firsts, lasts))


def one_after_another(name: str, spells: Iterable[Spell], of: Mapping[str, Profile]) -> Profile:
    """The profile of this name, whose rules are those of each spell on the days of the spell.

    What both of two neighbours inherit alike goes on across the change. It departs from nothing by
    itself: where less is asked for than is inherited stands with the profiles that it is made of.
    """
    spells = tuple(spells)
    pieces: list[Rule] = []
    for one in spells:
        days = _days(one.from_on, one.to_on)
        pieces += (cut for rule in of[one.practice].rules if (cut := within(rule, days)))
    pieces.sort(key=lambda rule: (full_name(rule), rule.valid_from))
    held: list[Rule] = []
    for rule in pieces:
        if held and _goes_on(held[-1], rule):
            held[-1] = replace(held[-1], valid_to=rule.valid_to)
        else:
            held.append(rule)
    last = of[spells[-1].practice]
    return replace(last, name=name, rules=tuple(held), loosenings=(), spells=spells)


def _days(from_on: date, to_on: date | None) -> _Days:
    return _Days(source="", confidence="derived", valid_from=from_on, valid_to=to_on)


def _goes_on(earlier: Rule, later: Rule) -> bool:
    """Whether a rule is the one before, said on by the next profile."""
    same = replace(later, valid_from=earlier.valid_from, valid_to=earlier.valid_to)
    return earlier.valid_to == later.valid_from and same == replace(earlier, reason=later.reason)
