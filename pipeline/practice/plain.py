"""Rules in plain words, the same on a page, in a terminal and in a fault.

They are made as messages, because pages speak the language of their readers.
"""

from collections.abc import Iterable
from functools import singledispatch
from typing import Any

from pipeline.base.message import Message, capital, message, row_of, spoken
from pipeline.base.phrases import phrase
from pipeline.practice.periods import full_name
from pipeline.practice.profile import Loosening
from pipeline.practice.rules import (
    EVER_SINCE,
    RULES,
    EventRule,
    ResponseRule,
    RetentionRule,
    RoutineRule,
    Rule,
    SporeRule,
    TaskRule,
)


def in_order(rules: Iterable[Rule]) -> list[Rule]:
    """As they are printed: kind by kind, routine tests first, steps in the order of their place."""
    return sorted(
        rules,
        key=lambda rule: (
            RULES.index(type(rule)),
            getattr(rule, "place", 0),
            isinstance(rule, SporeRule) and rule.rule != "routine",
            rule.name,
            rule.valid_from,
        ),
    )


def days_of(rule: Rule) -> str:
    """From when and until when a rule holds; empty for one that has no end on either side."""
    first, last = rule.valid_from, rule.valid_to
    since = phrase("rule.since", day=str(first)) if first > EVER_SINCE else ""
    until = phrase("rule.until", day=str(last)) if last else ""
    return " ".join(part for part in (since, until) if part)


def unsure(confidences: Iterable[str]) -> Message | None:
    """How many of a profile's rules nobody read where they are published; None when none."""
    marks = list(confidences)
    number = sum(mark not in ("read", "policy") for mark in marks)
    return message("rule.unsure", number, total=len(marks)) if number else None


def printed(rule: Rule) -> dict[str, Any]:
    """A rule of any kind as a row of the table practice.rule, without the profile and the place."""
    return {
        "section": rule.table,
        "rule": full_name(rule),
        "what": what(rule),
        "asks": asks(rule),
        "who": getattr(rule, "who", None),
        "valid_from": rule.valid_from,
        "valid_to": rule.valid_to,
        "source": rule.source,
        "confidence": rule.confidence,
        "declared_by": rule.declared_by,
    }


def printed_less(less: Loosening) -> dict[str, Any]:
    """Where less is asked, as a row of the table practice.loosening, without the profile."""
    return {
        "rule": full_name(less.rule),
        "ancestor": less.ancestor.title,
        "what": what(less.rule),
        "ancestor_asks": asks(less.rule),
        "asks": asks(less.instead) if less.instead else message("rule.nothing"),
        "reason": less.reason,
        "valid_from": less.rule.valid_from,
        "valid_to": less.rule.valid_to,
    }


def read_out(row: dict[str, Any]) -> dict[str, Any]:
    """A row of either with its messages spoken in the language in force."""
    return {name: spoken(one) if isinstance(one, Message) else one for name, one in row.items()}


@singledispatch
def what(rule: Rule) -> Message:
    """What a rule is about, such as "Leak test"."""
    raise NotImplementedError(type(rule).__name__)


@singledispatch
def asks(rule: Rule) -> Message:
    """What a rule asks for, such as "at least every 7 days; overdue 2 days later"."""
    raise NotImplementedError(type(rule).__name__)


@what.register
def _(rule: SporeRule) -> Message:
    return message(f"rule.spore.{rule.rule}")


@asks.register
def _(rule: SporeRule) -> Message:
    if rule.kind == "not_asked":
        return message("rule.kind.not_asked")
    parts = [_schedule(rule)]
    if rule.is_per_program:
        parts.append(message("rule.per_program"))
    if rule.grace_days:
        parts.append(message("rule.grace", rule.grace_days))
    if rule.is_paused_when_closed:
        parts.append(message("rule.paused"))
    return _joined([*parts, message("rule.result", rule.result_days)])


@what.register
def _(rule: ResponseRule) -> Message:
    return capital(message(f"rule.step.{rule.step}"))


@asks.register
def _(rule: ResponseRule) -> Message:
    parts = [message(f"rule.condition.{rule.condition}")]
    if rule.test_count is not None:
        parts.append(message("rule.tests", rule.test_count))
    if rule.within_days is not None:
        parts.append(message("rule.within", rule.within_days))
    return _joined(parts)


@what.register
def _(rule: EventRule) -> Message:
    return message(f"rule.event.{rule.event}")


@asks.register
def _(rule: EventRule) -> Message:
    parts = [message(f"rule.event_test.{rule.test}", rule.test_count)]
    if rule.idle_days is not None:
        parts.insert(0, message("rule.idle", rule.idle_days))
    if rule.is_per_program:
        parts.append(message("rule.per_program"))
    return _joined([*parts, *_units(rule)])


@what.register
def _(rule: RoutineRule) -> Message:
    return message(f"rule.routine.{rule.test}")


@asks.register
def _(rule: RoutineRule) -> Message:
    parts = [_schedule(rule)]
    if rule.grace_days:
        parts.append(message("rule.grace", rule.grace_days))
    return _joined([*parts, *_units(rule)])


@what.register
def _(rule: TaskRule) -> Message:
    return message(f"task.{rule.task}")


@asks.register
def _(rule: TaskRule) -> Message:
    days = [] if rule.days is None else [message("rule.days", rule.days)]
    cycles = [] if rule.cycles is None else [message("rule.cycles", rule.cycles)]
    parts = [message("rule.every", every=row_of(days + cycles, message("rule.or")))]
    if rule.grace_days:
        parts.append(message("rule.grace", rule.grace_days))
    if rule.act_now_days is not None:
        parts.append(message("rule.act_now", rule.act_now_days))
    if rule.is_paused_when_closed:
        parts.append(message("rule.paused"))
    return _joined(parts)


@what.register
def _(rule: RetentionRule) -> Message:
    return message(f"rule.retention.{rule.record}")


@asks.register
def _(rule: RetentionRule) -> Message:
    return message(f"rule.keep.{rule.keep}", rule.years or 0)


def _schedule(rule: SporeRule | RoutineRule) -> Message:
    days = message("rule.days", rule.days or 0)
    if rule.kind == "calendar_week":
        return message(
            "rule.kind.calendar_week", day=message(f"rule.weekday.{rule.week_starts or 1}")
        )
    if rule.kind == "minutes_or_days" and isinstance(rule, SporeRule) and rule.minutes:
        minutes = message("rule.minutes", rule.minutes)
        return message("rule.every", every=row_of([minutes, days], message("rule.or")))
    if rule.kind == "days_or_cycles" and rule.cycles:
        cycles = message("rule.cycles", rule.cycles)
        return message("rule.every", every=row_of([days, cycles], message("rule.or")))
    if rule.kind == "days_by_use" and isinstance(rule, SporeRule) and rule.busy_cycles:
        busy_days = message("rule.days", rule.busy_days or 0)
        return message("rule.by_use", rule.busy_cycles, every=days, busy=busy_days)
    if rule.kind == "interval_days":
        return message("rule.every", every=days)
    return message(f"rule.kind.{rule.kind}")


def _units(rule: EventRule | RoutineRule) -> list[Message]:
    return [message("rule.vacuum")] if rule.applies_to == "vacuum" else []


def _joined(parts: list[Message]) -> Message:
    return row_of(parts, message("rule.and"))
