"""Makes a profile of what its file says and what it inherits, and tells where it asks for less."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from itertools import combinations

from pipeline.base.message import spoken
from pipeline.config.faults import Faults, did_you_mean
from pipeline.practice.loosening import looser_than
from pipeline.practice.periods import full_name, in_place_of, until, within
from pipeline.practice.plain import asks
from pipeline.practice.profile import Declared, Dropped, Loosening, Profile
from pipeline.practice.rules import EVER_SINCE, ResponseRule, SporeRule


def inherit(declared: Mapping[str, Declared], faults: Faults) -> dict[str, Profile]:
    """The profiles by name, each with all that it inherits; those that cannot be used are noted."""
    made: dict[str, Profile] = {}
    for name in sorted(declared):
        chain = _chain(name, declared, faults)
        for one in reversed(chain):
            if one.name not in made:
                _make(one, declared, made, faults)
    return dict(sorted(made.items()))


def _chain(name: str, declared: Mapping[str, Declared], faults: Faults) -> list[Declared]:
    """A profile and those it inherits from, the nearest first; none when the line is broken."""
    chain = [declared[name]]
    while parent := chain[-1].inherits:
        names = [one.name for one in chain]
        if parent in names:
            # Told once, by the first of the circle.
            if name == min(names[names.index(parent) :]):
                circle = " from ".join(f'"{one}"' for one in [*names, parent])
                faults.add(f"{name}.toml", f"inherits in a circle: {circle}; break it.")
            return []
        if parent not in declared:
            if len(chain) == 1:
                hint = did_you_mean(parent, declared.keys() - {name})
                faults.add(f"{name}.toml", f'inherits "{parent}", which is no profile. {hint}')
            return []
        chain.append(declared[parent])
    return chain


def _make(
    one: Declared, declared: Mapping[str, Declared], made: dict[str, Profile], faults: Faults
) -> None:
    parent = made.get(one.inherits or "")
    if one.inherits and parent is None:
        return
    file = f"{one.name}.toml"
    known = {full_name(rule) for rule in parent.rules} if parent else set()
    for drop in one.entries:
        if isinstance(drop, Dropped) and full_name(drop) not in known:
            hint = did_you_mean(full_name(drop), known)
            faults.add(
                file, f'drops "{full_name(drop)}", which it does not inherit. {hint}'.rstrip()
            )
    profile = Profile(
        one.name, one.title, one.asks, one.jurisdiction, one.reviewed_on, one.is_for_sites,
        (parent.name, *parent.parents) if parent else (),
        tuple(in_place_of(parent.rules if parent else (), one.entries)),
        (),
    )  # fmt: skip
    if one.is_for_sites:
        _check_routine(file, profile, faults)
    for earlier, later in combinations(profile.of(ResponseRule), 2):
        if earlier.place == later.place and within(earlier, later):
            faults.add(
                file,
                f'the steps "{earlier.name}" and "{later.name}" both have place {later.place}; '
                "give one of them another.",
            )
    lines = [made[name] for name in profile.parents]
    found = [
        replace(
            less, reason=less.reason or _reason(less, [one, *(declared[p.name] for p in lines)])
        )
        for ancestor in lines
        for less in looser_than(profile, ancestor)
    ]
    for less in found:
        if parent and less.ancestor.name == parent.name and not less.reason:
            faults.add(file, _unreasoned(less))
    made[one.name] = replace(profile, loosenings=tuple(_outermost(found)))


def _check_routine(file: str, profile: Profile, faults: Faults) -> None:
    """Silence is no rule: on every day a profile says what it asks, or that it asks for none."""
    rules = [rule for rule in profile.of(SporeRule) if rule.rule == "routine"]
    if not rules:
        faults.add(
            file, 'has no rule for spore tests; write [[spore]], with kind = "not_asked" for none.'
        )
        return
    ends = [EVER_SINCE, *(until(rule) for rule in rules)]
    begins = [*(rule.valid_from for rule in rules), date.max]
    for end, begin in zip(ends, begins, strict=True):
        if end < begin:
            days = f"{'' if end == EVER_SINCE else f' from {end}'}"
            days += f"{'' if begin == date.max else f' until {begin}'}"
            faults.add(
                file,
                f"has no rule for spore tests{days}; let one hold then, with "
                'kind = "not_asked" for none.',
            )


def _reason(less: Loosening, chain: Iterable[Declared]) -> str | None:
    """The reason that the nearest profile gives for asking for less on some of these days."""
    return next(
        (
            entry.reason
            for one in chain
            for entry in one.entries
            if full_name(entry) == full_name(less.rule)
            and entry.reason
            and within(less.rule, entry)
        ),
        None,
    )


def _unreasoned(less: Loosening) -> str:
    name = full_name(less.rule)
    instead = spoken(asks(less.instead)) if less.instead else "nothing"
    return (
        f'"{name}" asks for less than "{less.ancestor.name}" does: {instead}. There it is: '
        f'{spoken(asks(less.rule))}. Write reason = "..." beside it, or ask for as much.'
    )


def _outermost(found: Iterable[Loosening]) -> list[Loosening]:
    """Of each rule's loosenings against several ancestors, the one against the outermost."""
    kept: list[Loosening] = []
    for less in reversed(list(found)):
        if not any(
            full_name(less.rule) == full_name(one.rule) and within(less.rule, one.rule)
            for one in kept
        ):
            kept.append(less)
    return sorted(kept, key=lambda one: (full_name(one.rule), one.rule.valid_from))
