"""Spore tests once more, in loops: slow, plain, and written without the statements.

What it says of a unit is compared with the tables of sql/fact/. It reads the same logs as
spore_logs.py tells them, a day at a time, and shares no line with the product.
"""

import itertools
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

DAY = timedelta(days=1)
METERED = ("minutes_or_days", "days_or_cycles")
BY_DAYS = ("interval_days", "days_by_use", *METERED)
BY_WEEKS = ("calendar_week", "use_day")


@dataclass(frozen=True)
class Version:
    """One version of a practice's routine rule, half-open."""

    kind: str
    days: int | None = None
    cycles: int | None = None
    minutes: int | None = None
    week_starts: int = 1
    is_per_program: bool = False
    grace_days: int = 0
    is_paused: bool = False
    busy_days: int | None = None
    busy_cycles: int | None = None
    valid_from: date = date.min
    valid_to: date = date.max


@dataclass
class Cycle:
    number: int
    started: datetime
    program: str
    seconds: int | None
    is_load: bool
    load_kind: str = "instruments"

    @property
    def on(self) -> date:
        return self.started.date()


@dataclass
class SporeTest:
    test_id: str
    cycle: Cycle
    state: str
    read_on: date | None

    @property
    def on(self) -> date:
        return self.cycle.on


@dataclass
class Unit:
    serial: str
    practice: str
    cycles: list[Cycle] = field(default_factory=list)
    tests: list[SporeTest] = field(default_factory=list)
    closed: set[date] = field(default_factory=set)


def effects(unit: Unit, as_of: date) -> list[tuple[SporeTest, str]]:
    """Each test exposed by then with what it was worth then, in the order of exposure."""
    told = []
    for test in sorted(unit.tests, key=lambda one: (one.cycle.started, one.test_id)):
        if test.on > as_of:
            continue
        is_known = test.read_on is not None and test.read_on <= as_of
        if test.state == "growth" and is_known:
            told.append((test, "growth"))
        elif test.state == "valid_negative" and is_known:
            told.append((test, "valid"))
        elif test.state == "pending" or not is_known and test.state != "lost":
            told.append((test, "pending" if (as_of - test.on).days <= 14 else "void"))
        else:
            told.append((test, "void"))
    grown = {test.cycle.number for test, effect in told if effect == "growth"}
    return [
        (test, "void" if effect == "valid" and test.cycle.number in grown else effect)
        for test, effect in told
    ]


@dataclass
class Duty:
    due_on: date | None = None
    is_overdue: bool = False
    days_overdue: int = 0
    late_cycles: int = 0


def duty(unit: Unit, versions: list[Version], program: str, as_of: date) -> Duty:
    """When the next test of a clock is due, and what was run too late.

    By the rule in force, unless something was overdue by one before it: then by that.
    """
    now = _version(versions, as_of)
    loads = [c for c in unit.cycles if c.is_load and c.on <= as_of]
    mine = [c for c in loads if program in ("all", c.program)]
    if not mine:
        return Duty()
    done = [
        test
        for test, effect in effects(unit, as_of)
        if effect in ("valid", "pending") and program in ("all", test.cycle.program)
    ]
    by_days = _by_days(unit, versions, mine, done, as_of)
    by_weeks = _by_weeks(unit, versions, program, mine, done, as_of)
    overdue = [one for one in (by_days, by_weeks) if one.is_overdue]
    if overdue:
        return min(overdue, key=lambda one: one.due_on or date.max)
    if now.kind == "not_asked":
        return Duty()
    return by_weeks if now.kind in BY_WEEKS else by_days


def _version(versions: list[Version], on: date) -> Version:
    return next(one for one in versions if one.valid_from <= on < one.valid_to)


def _by_days(
    unit: Unit, versions: list[Version], mine: list[Cycle], done: list[SporeTest], as_of: date
) -> Duty:
    from_on = done[-1].on if done else mine[0].on
    found = []
    for one in versions:
        if one.kind not in BY_DAYS or one.valid_to <= from_on or one.valid_from > as_of:
            continue
        due, over = None, []
        if one.days is not None:
            due, left = from_on, one.days
            while left:
                due += DAY
                left -= not (one.is_paused and due in unit.closed)
        if one.kind in METERED:
            reached, over = _use(unit, one, done, as_of)
            if reached and (due is None or reached < due):
                due = reached
        if one.kind == "days_by_use":
            due = min([due, *_busy(unit, one, from_on, as_of)])
        due = max(due, one.valid_from)
        if due < one.valid_to or one.valid_to > as_of:
            found.append((due, -one.valid_from.toordinal(), one, over))
    if not found:
        return Duty()
    due, _, one, over = min(found, key=lambda each: each[:2])
    allowed = due + one.grace_days * DAY
    late = [c for c in mine if c.on > allowed]
    beyond = len(over) if one.grace_days == 0 else 0
    # What ran only once nothing was asked by days any more was not late.
    if not any(_version(versions, c.on).kind in BY_DAYS for c in late) and beyond <= len(late):
        return Duty(due)
    count = max(len(late), beyond)
    return Duty(due, True, max((as_of - allowed).days, 0), count)


def _busy(unit: Unit, rule: Version, from_on: date, as_of: date) -> list[date]:
    """The days, when a shorter interval is over, on which the unit had been used much."""
    assert rule.days and rule.busy_days and rule.busy_cycles
    cycles = [c for c in unit.cycles if c.on <= as_of]
    ran = [c.on for c in cycles if c.is_load]
    for one, other in itertools.pairwise(cycles):
        ran += [other.on] * (other.number - one.number - 1)
    days = [from_on + n * DAY for n in range(rule.busy_days, rule.days)]
    return [
        day
        for day in days
        if sum(day - rule.days * DAY < on <= day for on in ran) > rule.busy_cycles
    ]


def _use(
    unit: Unit, rule: Version, done: list[SporeTest], as_of: date
) -> tuple[date | None, list[Cycle]]:
    """The day on which the use ran out, and the cycles beyond it; skipped numbers ran as well."""
    cycles = [c for c in unit.cycles if c.on <= as_of]
    known = [c.seconds for c in cycles if c.is_load and c.seconds is not None]
    usual = sum(known) // len(known)
    skipped: dict[date, int] = defaultdict(int)
    for one, other in itertools.pairwise(cycles):
        skipped[other.on] += other.number - one.number - 1
    last = done[-1].cycle if done else None
    count, seconds, reached, over = 0, 0, None, []
    # What was skipped on a day is placed before its loads; on the day of a test, before the test.
    today = last.on if last else None
    for cycle in cycles:
        if last and cycle.started <= last.started:
            continue
        if cycle.on != today:
            today = cycle.on
            count += skipped[today]
            seconds += skipped[today] * usual
        if cycle.is_load:
            count += 1
            seconds += usual if cycle.seconds is None else cycle.seconds
            most = rule.minutes * 60 if rule.minutes else None
            if (rule.cycles and count >= rule.cycles) or (most and seconds >= most):
                reached = reached or cycle.on
            if (rule.cycles and count > rule.cycles) or (most and seconds > most):
                over.append(cycle)
    return reached, over


def week_of(on: date, starts: int) -> date:
    while on.isoweekday() != starts:
        on -= DAY
    return on


def _by_weeks(
    unit: Unit,
    versions: list[Version],
    program: str,
    mine: list[Cycle],
    done: list[SporeTest],
    as_of: date,
) -> Duty:
    now = _version(versions, as_of)
    grown = [
        test.on
        for test, effect in effects(unit, as_of)
        if effect == "growth" and program in ("all", test.cycle.program)
    ]
    last = done[-1].on if done else date.min
    missed = []
    for cycle in mine:
        one = _version(versions, cycle.on)
        if one.kind not in BY_WEEKS:
            continue
        first = week_of(cycle.on, one.week_starts) if one.kind == "calendar_week" else cycle.on
        end = first + 6 * DAY if one.kind == "calendar_week" else first
        is_done = first <= last or any(first <= on <= end for on in grown)
        if end <= as_of and not is_done and _version(versions, end).kind in BY_WEEKS:
            missed.append((end, one.grace_days))
    if missed:
        end, grace = min(missed)
        late = len([c for c in mine if c.on > end + grace * DAY])
        days = (as_of - end).days - grace
        return Duty(end, True, days, late) if days > 0 else Duty(end)
    if now.kind not in BY_WEEKS:
        return Duty()
    if now.kind == "use_day":
        return Duty(as_of + DAY)
    first = week_of(as_of, now.week_starts)
    return Duty(first + (13 if last >= first else 6) * DAY)
