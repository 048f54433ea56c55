"""A unit's life: parts wear, cycles stop, somebody calls the engineer, parts are renewed.

The chances are drawn before the story is told: each cycle keeps its own number, so a repair changes
what comes after it and nothing before.
"""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from pipeline.demo import faults, programs
from pipeline.demo.calendar import Days
from pipeline.demo.habit import Habit
from pipeline.demo.plan import Plan
from pipeline.demo.scenario import Kind, Scenario
from pipeline.demo.streams import Flags, Floats, Whole
from pipeline.demo.unit import Machine, Unit
from pipeline.demo.wear import COMPONENTS, NO_PART, Renewal, level, renewal, worn_from
from pipeline.demo.window import Window

LEAK_LIMIT_KPA_PER_MINUTE = 0.13
"""1.3 mbar a minute, as reported for the European norms of steam sterilizers (not seen there)."""

_CALL_AFTER_STOPS, _CALL_WITHIN_RUNS = 4, 40
_FOUND_LEVEL = 0.45


@dataclass(frozen=True)
class Repair:
    """A visit of the engineer: the unit is out of use from day `from_index` before `back_index`."""

    from_index: int
    back_index: int
    component: str
    """Empty when nothing was found."""


@dataclass(frozen=True)
class Life:
    """What happens to each run of the plan; `is_run` is false while the unit stands still."""

    reason: Whole
    levels: Floats
    leak_kpa_per_minute: Floats
    is_run: Flags
    repairs: list[Repair]
    episodes: list[tuple[str, int]]
    """Component, and the day from which it wears out in earnest: the truth, for evaluation."""


def live(
    rng: np.random.Generator,
    unit: Unit,
    machine: Machine,
    habit: Habit,
    plan: Plan,
    days: Days,
    window: Window,
    renewed: list[tuple[str, int]],
) -> Life:
    """Tell the life of a unit; `renewed` holds the parts that upkeep renews, each with its day."""
    count = len(plan)
    fate, noise = rng.random(count), rng.normal(0, 1, count)
    renewals = {part: [renewal(rng, part, 0, is_new=False)] for part in COMPONENTS}
    if not unit.has_vacuum:
        renewals["pump"] = [NO_PART]
    for part, day in renewed:
        at = int(np.searchsorted(plan.day, day))
        renewals[part].append(renewal(rng, part, at, is_new=True))
    bound = _bound_wear(unit, plan, window)
    chances = _chances(unit, machine, habit, plan)
    is_run = np.ones(count, dtype=bool)
    repairs: list[Repair] = []
    counted_from = 0
    while True:
        levels = np.column_stack([level(count, renewals[part]) for part in COMPONENTS]) + bound
        leak = _leak(machine, levels, noise)
        reason = faults.draw(fate, faults.hazards(levels, chances))
        is_leak_test = plan.program == programs.INDEX["test_leak"]
        reason[is_leak_test & (leak > LEAK_LIMIT_KPA_PER_MINUTE)] = faults.INDEX["air_leak"]
        call = _call_at(faults.IS_EQUIPMENT[reason] & is_run, counted_from)
        visit = None if call is None else _visit(rng, unit, habit, plan, days, window, call)
        if call is None or visit is None:
            break
        worst = int(np.argmax(levels[call]))
        culprit = COMPONENTS[worst] if levels[call, worst] > _FOUND_LEVEL else ""
        repairs.append(Repair(*visit, culprit))
        is_run &= (plan.day < visit[0]) | (plan.day >= visit[1])
        counted_from = int(np.searchsorted(plan.day, visit[1]))
        if culprit:
            renewals[culprit].append(renewal(rng, culprit, counted_from, is_new=True))
    episodes = _episodes(renewals, unit, plan, window)
    return Life(reason, levels, leak, is_run, repairs, episodes)


def _bound_wear(unit: Unit, plan: Plan, window: Window) -> Floats:
    """Wear by scenario: a straight line from its first day to the last day of the window."""
    out = np.zeros((len(plan), len(COMPONENTS)))
    scenario = unit.bound.get(Kind.WEARS)
    if scenario is not None:
        last = window.day_count - 1
        rise = (plan.day - (last - scenario.since_days)) / scenario.since_days
        out[:, COMPONENTS.index(scenario.component)] = scenario.level * np.maximum(rise, 0)
    return out


def _chances(unit: Unit, machine: Machine, habit: Habit, plan: Plan) -> faults.Chances:
    asked = np.array([(one.hold_seconds, one.drying_seconds) for one in programs.PROGRAMS])
    return faults.Chances(
        base_shares={
            "operator": habit.operator_stop_share,
            "utility": habit.empty_reservoir_share,
            "equipment": machine.equipment_stop_share,
        },
        is_monday_start=plan.is_monday_start,
        has_vacuum=unit.has_vacuum,
        has_hold=asked[plan.program, 0] > 0,
        has_drying=asked[plan.program, 1] > 0,
    )


def _leak(machine: Machine, levels: Floats, noise: Floats) -> Floats:
    gasket, pump = levels[:, COMPONENTS.index("gasket")], levels[:, COMPONENTS.index("pump")]
    leak = machine.leak_kpa_per_minute + 0.075 * gasket**1.5 + 0.02 * pump + 0.004 * noise
    return np.maximum(leak, 0.002)


def _call_at(is_stop: Flags, counted_from: int) -> int | None:
    """The first run at which stops of the equipment have become too many to be put up with."""
    total = np.cumsum(is_stop & (np.arange(len(is_stop)) >= counted_from))
    recent = total - np.concatenate([np.zeros(_CALL_WITHIN_RUNS), total])[: len(total)]
    calls = np.flatnonzero(recent >= _CALL_AFTER_STOPS)
    return int(calls[0]) if len(calls) else None


def _visit(
    rng: np.random.Generator,
    unit: Unit,
    habit: Habit,
    plan: Plan,
    days: Days,
    window: Window,
    at: int,
) -> tuple[int, int] | None:
    """Day of the visit and day back in use; None when nobody has called, or it is still to come."""
    days_out = int(rng.integers(1, 4))
    called = int(plan.day[at])
    scenario = unit.bound.get(Kind.WEARS)
    if scenario is not None and _is_uncalled(scenario, window, called):
        return None
    open_days = np.flatnonzero(days.is_open & (np.arange(len(days.is_open)) > called))
    if len(open_days) <= habit.call_days + days_out:
        return None
    return int(open_days[habit.call_days]), int(open_days[habit.call_days + days_out])


def _is_uncalled(scenario: Scenario, window: Window, day: int) -> bool:
    since = window.ends_on - timedelta(days=scenario.since_days)
    return scenario.level >= 1 and window.day(day) >= since


def _episodes(
    renewals: dict[str, list[Renewal]], unit: Unit, plan: Plan, window: Window
) -> list[tuple[str, int]]:
    found = []
    for part, ones in renewals.items():
        ordered = sorted(ones, key=lambda one: one.at)
        ends = [one.at for one in ordered[1:]] + [len(plan)]
        for one, end in zip(ordered, ends, strict=True):
            if worn_from(one) < end:
                found.append((part, int(plan.day[worn_from(one)])))
    scenario = unit.bound.get(Kind.WEARS)
    if scenario is not None:
        found.append((scenario.component, max(window.day_count - 1 - scenario.since_days, 0)))
    return sorted(found, key=lambda episode: episode[1])
