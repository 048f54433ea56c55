"""Maintenance once more, in loops: slow, plain, and written without the statements.

What it says of a task is compared with fact.task_due and fact.task_interval. Days are walked one
at a time, and no line is shared with the product.
"""

import itertools
from dataclasses import dataclass
from datetime import date, timedelta

from tests.world.dull_spore import Unit

DAY = timedelta(days=1)


@dataclass(frozen=True)
class TaskRule:
    """One version of a rule, half-open."""

    task: str
    days: int | None = None
    cycles: int | None = None
    grace_days: int = 0
    act_now_days: int | None = None
    is_paused: bool = False
    valid_from: date = date.min
    valid_to: date = date.max


@dataclass(frozen=True)
class Spent:
    """What of an interval has been used, and when it was over; `due_on` is None for a forecast."""

    days: int
    cycles: int
    due_on: date | None
    days_late: int


def runs(unit: Unit, until: date) -> list[date]:
    """A day for each cycle that ran, of whatever program; skipped numbers ran on the later day."""
    told = [one for one in unit.cycles if one.on <= until]
    found = [one.on for one in told]
    for one, other in itertools.pairwise(told):
        found += [other.on] * (other.number - one.number - 1)
    return sorted(found)


def spent(unit: Unit, ran: list[date], rule: TaskRule, from_on: date, until: date) -> Spent:
    """Walk from the day after the act to the last day."""
    open_days, cycles, days_late, since = 0, 0, 0, max(from_on, rule.valid_from)
    by_days = by_cycles = None
    on = from_on
    if rule.days == 0:
        by_days = on
    while on < until:
        on += DAY
        is_open = not (rule.is_paused and on in unit.closed)
        open_days += is_open
        # Nothing is late by a version before its first day is over.
        if rule.days is not None and open_days > rule.days and on > since:
            days_late += is_open
        cycles += sum(one == on for one in ran)
        if rule.days is not None and by_days is None and open_days == rule.days:
            by_days = on
        if rule.cycles is not None and by_cycles is None and cycles >= rule.cycles:
            by_cycles = on
    if rule.cycles is not None and cycles > rule.cycles:
        days_late = max(days_late, (until - max(by_cycles, since)).days)
    left = rule.days - open_days if rule.days is not None else 0
    if rule.days is not None and by_days is None:
        by_days = until + left * DAY
    if rule.cycles is not None and by_cycles is None and (by_days is None or by_days > until):
        return Spent(open_days, cycles, None, days_late)
    due = max(since, min(one for one in (by_days, by_cycles) if one is not None))
    return Spent(open_days, cycles, due, days_late)


def in_force(rules: list[TaskRule], task: str, on: date) -> TaskRule | None:
    return next(
        (one for one in rules if one.task == task and one.valid_from <= on < one.valid_to), None
    )


def judged(
    unit: Unit, ran: list[date], rules: list[TaskRule], task: str, from_on: date, until: date
) -> tuple[TaskRule, Spent]:
    """By the version in force on the first day on which it was due by it; else by the last."""
    used = {one: spent(unit, ran, one, from_on, until) for one in rules if one.task == task}
    on, rule = from_on, in_force(rules, task, until)
    while on <= until:
        then = in_force(rules, task, on)
        due_on = then and used[then].due_on
        if due_on and due_on <= on:
            rule = then
            break
        on += DAY
    return rule, used[rule]


def state_of(rule: TaskRule, one: Spent, is_closed: bool) -> str:
    """The state of a task of a unit that is not silent, at a site that logs its tasks."""
    if one.days_late <= rule.grace_days or is_closed:
        return "usual"
    if rule.act_now_days is not None and one.days_late > rule.act_now_days:
        return "act_now"
    return "look_into"
