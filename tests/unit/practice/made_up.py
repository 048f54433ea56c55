"""Rules and profiles made up for tests: what matters is said, the rest is as it must be."""

from datetime import date
from typing import Any

from pipeline.practice.profile import Declared, Dropped
from pipeline.practice.rules import (
    EventRule,
    ResponseRule,
    RetentionRule,
    RoutineRule,
    Rule,
    SporeRule,
    TaskRule,
)

_SAID: dict[str, Any] = {"source": "made up for a test", "confidence": "common_practice"}


def spore(**given: Any) -> SporeRule:
    return SporeRule(**_SAID | {"kind": "interval_days"} | given)


def task(**given: Any) -> TaskRule:
    return TaskRule(**_SAID | {"task": "service", "grace_days": 0, "who": "user"} | given)


def routine(**given: Any) -> RoutineRule:
    return RoutineRule(**_SAID | {"test": "automatic_control", "kind": "use_day"} | given)


def event(**given: Any) -> EventRule:
    return EventRule(**_SAID | {"event": "repair", "test": "biological", "test_count": 1} | given)


def response(**given: Any) -> ResponseRule:
    return ResponseRule(**_SAID | {"step": "review", "place": 1} | given)


def retention(**given: Any) -> RetentionRule:
    return RetentionRule(**_SAID | {"record": "cycle", "keep": "years_from_record"} | given)


def declared(name: str, *entries: Rule | Dropped, inherits: str | None = None) -> Declared:
    """A profile as its file would say it; without a rule of its own it must inherit one."""
    return Declared(
        name, name.title(), "asks", "nobody's", date(2026, 1, 31), inherits, True, entries
    )
