"""Contradictions in one rule: figures that do not belong to its kind, or that undo each other."""

from pipeline.base.phrases import words
from pipeline.config.faults import Faults, did_you_mean
from pipeline.practice.rules import (
    RESULT_DAYS,
    EventRule,
    ResponseRule,
    RetentionRule,
    RoutineRule,
    Rule,
    SporeRule,
    TaskRule,
)

_FIGURES = ("days", "cycles", "minutes", "week_starts", "busy_days", "busy_cycles")
_NEEDED = {
    "interval_days": {"days"},
    "minutes_or_days": {"minutes", "days"},
    "days_or_cycles": {"days", "cycles"},
    "days_by_use": {"days", "busy_days", "busy_cycles"},
}
_BY_USE = ("minutes_or_days", "days_or_cycles", "days_by_use")
_MAY = {"calendar_week": {"week_starts"}}
_HAS_GRACE = {"interval_days", "calendar_week", *_BY_USE}
_WEEK_DAYS = 7
_TESTS = {"repeat_same_cycle", "consecutive_runs", "steam_penetration"}
_VACUUM_TESTS = {"steam_penetration", "leak"}


def check_sound(where: str, rule: Rule, faults: Faults) -> None:
    """Note every contradiction of this rule, with what to write instead."""
    if isinstance(rule, SporeRule | RoutineRule):
        _check_figures(where, rule, faults)
    if isinstance(rule, SporeRule):
        _check_spore(where, rule, faults)
    if isinstance(rule, TaskRule):
        _check_task(where, rule, faults)
    if isinstance(rule, ResponseRule) and (rule.step in _TESTS) != (rule.test_count is not None):
        faults.add(
            where,
            f"has the step {rule.step} and does not say test_count; it is needed."
            if rule.step in _TESTS
            else f"has test_count, and {rule.step} is no test; leave it out.",
        )
    if (
        isinstance(rule, EventRule | RoutineRule)
        and rule.test in _VACUUM_TESTS
        and rule.applies_to != "vacuum"
    ):
        faults.add(
            where,
            f"asks a {rule.test} test of all units, and only those that pull a vacuum can do one; "
            'write applies_to = "vacuum".',
        )
    if isinstance(rule, EventRule) and (rule.event == "idle") != (rule.idle_days is not None):
        faults.add(
            where,
            "is about idle units without idle_days; write after how many days unused it is asked."
            if rule.event == "idle"
            else f"has idle_days, and is about {rule.event}; leave them out.",
        )
    if isinstance(rule, RetentionRule) and (rule.keep == "life_of_unit") != (rule.years is None):
        faults.add(
            where,
            "keeps records for the life of the unit and for years too; leave out one of the two."
            if rule.years
            else "does not say for how many years; write years.",
        )


def _check_figures(where: str, rule: SporeRule | RoutineRule, faults: Faults) -> None:
    needed = _NEEDED.get(rule.kind, set())
    given = {name for name in _FIGURES if getattr(rule, name, None) is not None}
    for name in sorted(needed - given):
        faults.add(where, f"is of kind {rule.kind} and does not say {name}; it is needed.")
    for name in sorted(given - needed - _MAY.get(rule.kind, set())):
        fitting = [kind for kind, figures in _NEEDED.items() if name in figures]
        instead = f", or write kind = {_or(fitting or ['calendar_week'])}"
        faults.add(
            where, f"is of kind {rule.kind}, which has no {name}; leave {name} out{instead}."
        )
    if rule.grace_days and rule.kind not in _HAS_GRACE:
        faults.add(where, f"is of kind {rule.kind}, which has no grace; leave grace_days out.")
    allowed = _WEEK_DAYS if rule.kind == "calendar_week" else rule.days
    if rule.kind in _HAS_GRACE and allowed and rule.grace_days >= allowed:
        faults.add(
            where,
            f"has {rule.grace_days} days of grace on {allowed}: twice as long would be in time; "
            "write less grace, or a longer interval.",
        )


def _check_spore(where: str, rule: SporeRule, faults: Faults) -> None:
    if rule.kind in ("not_asked", "per_load") and rule.is_per_program:
        faults.add(
            where, f"is of kind {rule.kind} and per_program; leave out one of the two, or both."
        )
    if rule.kind in _BY_USE and rule.is_per_program:
        faults.add(
            where,
            f"is of kind {rule.kind} and per_program, and use is counted for the whole unit; "
            "leave out per_program, or ask by days.",
        )
    if rule.kind == "days_by_use" and rule.is_paused_when_closed:
        faults.add(
            where,
            "is of kind days_by_use and paused_when_closed, and use is counted by the calendar; "
            "leave out paused_when_closed.",
        )
    if rule.busy_days and rule.days and rule.busy_days + rule.grace_days >= rule.days:
        faults.add(
            where,
            f"has busy_days = {rule.busy_days} and {rule.grace_days} days of grace, which is no "
            f"less than its {rule.days} days; write fewer.",
        )
    if rule.kind == "not_asked" and rule.result_days != RESULT_DAYS:
        faults.add(where, "is not asked, so no result can be late; leave out result_days.")
    if rule.rule == "implant" and rule.kind not in ("per_load", "not_asked"):
        faults.add(where, f'is about implants and has kind = "{rule.kind}"; write "per_load".')
    if rule.rule == "routine" and rule.kind == "per_load":
        faults.add(where, 'tests each load with implants; write rule = "implant" as well.')


def _check_task(where: str, rule: TaskRule, faults: Faults) -> None:
    if rule.task not in words()["task"]:
        hint = did_you_mean(rule.task, words()["task"])
        faults.add(
            where, f'has task = "{rule.task}", which no page has a name for. {hint}'.rstrip()
        )
    if rule.days is None and rule.cycles is None:
        faults.add(where, "is due after neither days nor cycles; write one of them, or both.")
    if rule.days is not None and rule.grace_days >= rule.days:
        faults.add(
            where,
            f"has {rule.grace_days} days of grace on {rule.days}: twice as long would be in time; "
            "write less grace, or a longer interval.",
        )
    if rule.act_now_days is not None and rule.act_now_days < rule.grace_days:
        faults.add(
            where,
            f"has act_now_days = {rule.act_now_days} within its {rule.grace_days} days of grace; "
            f"write {rule.grace_days} or more.",
        )


def _or(words: list[str]) -> str:
    return " or ".join(f'"{word}"' for word in words)
