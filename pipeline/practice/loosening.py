"""Where a profile asks for less than one that it inherits from.

Each rule is turned into figures of which more means less is asked; a rule is looser when any of
them grew, whatever the others did, because a longer interval is not made good by less grace.
"""

import math
from collections.abc import Iterator
from functools import singledispatch

from pipeline.practice.periods import full_name, within, without
from pipeline.practice.profile import Loosening, Profile
from pipeline.practice.rules import (
    EventRule,
    ResponseRule,
    RetentionRule,
    RoutineRule,
    Rule,
    SporeRule,
    TaskRule,
)

_WEEK_DAYS = 7
_CALENDAR_WEEK_GAP_DAYS = 13
"""From the first day of one calendar week to the last of the next: both weeks hold a test."""
_SKILL = {"test person": 0, "engineer": 1, "user": 2}

Figures = dict[str, float]


@singledispatch
def figures(rule: Rule) -> Figures:
    """What a rule asks for, as figures that grow when less is asked; inf for what is not asked."""
    raise NotImplementedError(type(rule).__name__)


@figures.register
def _(rule: SporeRule) -> Figures:
    is_asked = rule.kind != "not_asked"
    return _schedule(rule, rule.cycles, rule.minutes) | {
        "programs": _flag(not rule.is_per_program and rule.kind != "per_load") if is_asked else 1,
        "result": rule.result_days if is_asked else math.inf,
        "pause": _flag(rule.is_paused_when_closed or not is_asked),
    }


@figures.register
def _(rule: RoutineRule) -> Figures:
    return _schedule(rule) | {"units": _flag(rule.applies_to == "vacuum")}


@figures.register
def _(rule: ResponseRule) -> Figures:
    return {"tests": -(rule.test_count or 0), "within": _or_inf(rule.within_days)}


@figures.register
def _(rule: EventRule) -> Figures:
    return {
        "tests": -rule.test_count,
        "programs": _flag(not rule.is_per_program),
        "idle": rule.idle_days or 0,
        "units": _flag(rule.applies_to == "vacuum"),
    }


@figures.register
def _(rule: TaskRule) -> Figures:
    return {
        "days": _or_inf(rule.days),
        "cycles": _or_inf(rule.cycles),
        "grace": rule.grace_days,
        "act_now": _or_inf(rule.act_now_days),
        "pause": _flag(rule.is_paused_when_closed),
        "skill": _SKILL[rule.who],
    }


@figures.register
def _(rule: RetentionRule) -> Figures:
    # Whole years to the end of a calendar year are kept by one year more, counted from the record.
    years = rule.years or 0
    return {
        "years": -years,
        "calendar": -(years if rule.keep == "calendar_years" else max(years - 1, 0)),
        "life": _flag(rule.keep != "life_of_unit"),
    }


def is_looser(rule: Rule, than: Rule) -> bool:
    """Whether a rule asks for less, in any figure, than another of its name."""
    before, after = figures(than), figures(rule)
    return any(after[name] > before[name] for name in before) or any(
        _gap(rule, cycles) > _gap(than, cycles) for cycles in (*_much(rule), *_much(than))
    )


def looser_than(profile: Profile, ancestor: Profile) -> Iterator[Loosening]:
    """Where and on which days a profile asks for less than its ancestor."""
    for asked in ancestor.rules:
        left = [asked]
        for rule in profile.rules:
            if full_name(rule) != full_name(asked):
                continue
            left = [piece for one in left for piece in without(one, rule)]
            shared = within(asked, rule)
            if shared and is_looser(rule, than=asked):
                yield Loosening(shared, ancestor, rule, rule.reason)
        for piece in left:
            yield Loosening(piece, ancestor, None, None)


def _schedule(
    rule: SporeRule | RoutineRule, cycles: int | None = None, minutes: int | None = None
) -> Figures:
    """The gaps that a rule allows; `week` is how late a test may be for its calendar week."""
    asked = dict.fromkeys(("days", "week", "cycles", "minutes", "grace", "loads"), math.inf)
    kind, grace = rule.kind, rule.grace_days
    if kind == "not_asked":
        return asked
    asked["grace"] = grace
    if kind == "per_load":
        asked["loads"] = 0
    if kind == "use_day" or (kind == "per_load" and isinstance(rule, RoutineRule)):
        # No day holds as many cycles or minutes as a rule of that kind allows.
        asked |= {"days": kind == "use_day", "week": 0, "cycles": 0, "minutes": 0}
    elif kind == "calendar_week":
        asked |= {"days": _CALENDAR_WEEK_GAP_DAYS, "week": grace}
    elif rule.days is not None:
        asked |= {
            "days": rule.days,
            "week": max(rule.days + grace - _WEEK_DAYS, 0),
            "cycles": _or_inf(cycles),
            "minutes": _or_inf(minutes),
        }
    return asked


def _much(rule: Rule) -> tuple[int, ...]:
    """The least use by which a unit is used much; none where use changes nothing."""
    busy_cycles = rule.busy_cycles if isinstance(rule, SporeRule) else None
    return () if busy_cycles is None else (busy_cycles + 1,)


def _gap(rule: Rule, cycles: int) -> float:
    """The days between tests that are allowed to a unit of so many load cycles."""
    if isinstance(rule, SporeRule) and rule.busy_days and cycles > (rule.busy_cycles or 0):
        return rule.busy_days
    return figures(rule)["days"]


def _flag(is_less: bool) -> float:
    return float(is_less)


def _or_inf(figure: int | None) -> float:
    return math.inf if figure is None else figure
