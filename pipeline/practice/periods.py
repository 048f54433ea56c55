"""Days from which and up to which a rule holds: half-open, and one rule of a name at a time."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from itertools import groupby, pairwise

from pipeline.config.faults import Faults
from pipeline.practice.profile import Dropped
from pipeline.practice.rules import EVER_SINCE, Rule

Dated = Rule | Dropped


def full_name(one: Dated) -> str:
    """The name that no rule of another kind has, such as "task/deep_clean"."""
    return f"{one.table}/{one.name}"


def until(one: Dated) -> date:
    """The day from which it holds no longer; the end of time where none is named."""
    return one.valid_to or date.max


def ended(file: str, entries: Sequence[Dated], faults: Faults) -> list[Dated]:
    """Each entry up to the first day of the next of its name; periods that overlap are noted."""
    found: list[Dated] = []
    ordered = sorted(entries, key=lambda one: (full_name(one), one.valid_from))
    for name, group in groupby(ordered, key=full_name):
        same = list(group)
        for earlier, later in pairwise(same):
            if earlier.valid_from == later.valid_from:
                faults.add(
                    file,
                    f'says "{name}" twice {since(later.valid_from)}; keep one of the two, '
                    "or give the later one a valid_from of its own.",
                )
            elif until(earlier) > later.valid_from and earlier.valid_to is not None:
                faults.add(
                    file,
                    f'"{name}" holds until {earlier.valid_to} and again from {later.valid_from}; '
                    "let the first end on the day on which the second begins.",
                )
            found.append(replace(earlier, valid_to=earlier.valid_to or later.valid_from))
        found.append(same[-1])
        for one in same:
            if until(one) <= one.valid_from:
                faults.add(
                    file,
                    f'"{name}" has valid_to {one.valid_to}, which is not after valid_from '
                    f"{one.valid_from}; write the day after the last on which it holds.",
                )
    return found


def since(day: date) -> str:
    """In words, from when something holds."""
    return "without a valid_from" if day == EVER_SINCE else f"from {day}"


def without(rule: Rule, taken: Dated) -> list[Rule]:
    """What is left of a rule when the days of another are taken out: none, one or two pieces."""
    if until(taken) <= rule.valid_from or taken.valid_from >= until(rule):
        return [rule]
    left = []
    if rule.valid_from < taken.valid_from:
        left.append(replace(rule, valid_to=taken.valid_from))
    if until(taken) < until(rule):
        left.append(replace(rule, valid_from=until(taken)))
    return left


def within(rule: Rule, other: Dated) -> Rule | None:
    """The rule on the days that it shares with another; None when there is no such day."""
    first, last = max(rule.valid_from, other.valid_from), min(until(rule), until(other))
    return replace(rule, valid_from=first, valid_to=_open(last)) if first < last else None


def in_place_of(parents: Iterable[Rule], children: Sequence[Dated]) -> list[Rule]:
    """The rules of a parent with those of a child in their place, on the child's days."""
    held = []
    for parent in parents:
        left = [parent]
        for child in children:
            if full_name(child) == full_name(parent):
                left = [piece for rule in left for piece in without(rule, child)]
        held += left
    held += [child for child in children if isinstance(child, Rule)]
    return sorted(held, key=lambda one: (full_name(one), one.valid_from))


def _open(day: date) -> date | None:
    return None if day == date.max else day
