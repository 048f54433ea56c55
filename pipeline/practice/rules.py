"""The kinds of rule that a practice profile may hold, as frozen values.

What is declared here is what a profile's TOML may say: a field is a setting, its type says which
words or figures it takes, and a field without a default must be given. `is_` falls away in TOML.
Each class is a table of sql/practice/, and each field a column of it.
"""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, ClassVar, Literal

Count = Annotated[int, range(1, 100_000)]
"""Days, cycles, minutes, tests, years or places: one at least."""
Grace = Annotated[int, range(100_000)]
"""Days that may be none."""
Weekday = Annotated[int, range(1, 8)]
"""1 Monday to 7 Sunday, as in ISO 8601."""
Confidence = Literal["read", "reported", "memory", "common_practice", "derived", "policy"]
"""How well a figure was confirmed: read in the document; read in a report of it; from memory, not
confirmed; custom of the trade without a source; worked out from others here; or decided by a group
for itself, in a profile of its own."""
Units = Literal["all", "vacuum"]
"""Every unit, or only those that pull a vacuum: prevacuum, and steam flush with pressure pulses."""
Test = Literal["biological", "steam_penetration", "leak"]

EVER_SINCE = date.min
"""From when a rule holds that names no first day."""
RESULT_DAYS = 14
"""A result awaited for longer is late, where the rule says nothing. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """What every rule says of itself; it holds from `valid_from` up to, not on, `valid_to`.

    `reason` is why it asks for less than the profile it is inherited from; `declared_by` names the
    profile that says it.
    """

    source: str
    confidence: Confidence
    valid_from: date = EVER_SINCE
    valid_to: date | None = None
    reason: str | None = None
    declared_by: str = ""

    table: ClassVar[str]
    """What the table of TOML is called; the table of the database is this and `_rule`."""
    key: ClassVar[tuple[str, ...]]
    """The fields that name a rule among those of its kind; one holds at a time."""

    @property
    def name(self) -> str:
        """What tells this rule from others of its kind, such as "idle/biological"."""
        return "/".join(str(getattr(self, field)) for field in self.key)


SporeKind = Literal[
    "interval_days",
    "calendar_week",
    "use_day",
    "minutes_or_days",
    "days_or_cycles",
    "days_by_use",
    "per_load",
    "not_asked",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeRule(Rule):
    """How often a unit must have a spore test; per_load is for loads with implants.

    A result is late when it is awaited for more than `result_days`. By days_by_use, `busy_days`
    hold for a unit that ran more than `busy_cycles` load cycles within `days`.
    """

    rule: Literal["routine", "implant"] = "routine"
    kind: SporeKind
    days: Count | None = None
    cycles: Count | None = None
    minutes: Count | None = None
    busy_days: Count | None = None
    busy_cycles: Count | None = None
    week_starts: Weekday | None = None
    is_per_program: bool = False
    grace_days: Grace = 0
    result_days: Count = RESULT_DAYS
    is_paused_when_closed: bool = False

    table = "spore"
    key = ("rule",)


Step = Literal[
    "out_of_service",
    "review",
    "repeat_same_cycle",
    "consecutive_runs",
    "steam_penetration",
    "inspect_or_repair",
    "recall_since_last_negative",
    "requalify",
]
Condition = Literal["growth", "second_growth", "implant_load", "defect_found", "repaired"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ResponseRule(Rule):
    """One thing to do after growth, in the order of `place`: at once, or when the condition holds.

    second_growth: the repeat, or one of the consecutive runs, grew too.
    """

    step: Step
    condition: Condition = "growth"
    place: Count
    test_count: Count | None = None
    within_days: Grace | None = None

    table = "response"
    key = ("step", "condition")


@dataclass(frozen=True, slots=True, kw_only=True)
class EventRule(Rule):
    """Consecutive clear tests before the first load after an event; idle is `idle_days` unused."""

    event: Literal["installation", "repair", "relocation", "loaner", "idle", "growth"]
    test: Test
    test_count: Count
    is_per_program: bool = False
    idle_days: Count | None = None
    applies_to: Units = "all"

    table = "event"
    key = ("event", "test")


RoutineKind = Literal["use_day", "calendar_week", "interval_days", "per_load"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutineRule(Rule):
    """A test or check that is no spore test, done as a routine.

    implant_quarantine: a load with implants waits for its spore test's result.
    """

    test: Literal[
        "steam_penetration", "leak", "automatic_control", "chemical_in_load", "implant_quarantine"
    ]
    kind: RoutineKind
    days: Count | None = None
    week_starts: Weekday | None = None
    grace_days: Grace = 0
    applies_to: Units = "all"

    table = "routine"
    key = ("test",)


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskRule(Rule):
    """How often a task must be done: so many days or so many cycles, whichever comes first."""

    task: str
    days: Count | None = None
    cycles: Count | None = None
    grace_days: Grace
    act_now_days: Grace | None = None
    is_paused_when_closed: bool = False
    who: Literal["user", "engineer", "test person"]

    table = "task"
    key = ("task",)


@dataclass(frozen=True, slots=True, kw_only=True)
class RetentionRule(Rule):
    """How long a class of records is kept at least; nothing here ever destroys one."""

    record: Literal["spore_test", "cycle", "task", "validation"]
    keep: Literal["years_from_record", "calendar_years", "life_of_unit"]
    years: Count | None = None

    table = "retention"
    key = ("record",)


RULES: tuple[type[Rule], ...] = (
    SporeRule,
    ResponseRule,
    EventRule,
    RoutineRule,
    TaskRule,
    RetentionRule,
)
"""In the order in which they are printed."""
