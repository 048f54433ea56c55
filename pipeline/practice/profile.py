"""What the rules ask of a clinic, as frozen values. Read by practice/read.py, never changed."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class SporeRule:
    """How often a unit in use must have a spore test; `kind` is always interval_days so far."""

    kind: str
    days: int
    grace_days: int
    source: str


@dataclass(frozen=True, slots=True)
class TaskRule:
    """How often a task must be done: so many days or so many cycles, whichever comes first."""

    task: str
    days: int | None
    cycles: int | None
    grace_days: int
    act_now_days: int | None
    is_paused_when_closed: bool
    who: str
    source: str


@dataclass(frozen=True, slots=True)
class Profile:
    """One jurisdiction's or policy's rules, each figure with its source."""

    name: str
    title: str
    asks: str
    reviewed_on: date
    spore: SporeRule
    tasks: tuple[TaskRule, ...]
