"""What people do to keep a unit well, when they get round to it.

Intervals are those that the invented group asks for: the shorter of days and cycles, common
practice, no source. A careful clinic does it a little early, a careless one later and later.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.demo.calendar import Days
from pipeline.demo.habit import Habit
from pipeline.demo.life import Repair
from pipeline.demo.plan import Plan
from pipeline.demo.scenario import Kind
from pipeline.demo.streams import Flags, Whole
from pipeline.demo.unit import Unit
from pipeline.demo.window import Window


@dataclass(frozen=True)
class Act:
    """One maintenance act; `day` is a number within the window."""

    task: str
    day: int
    kind: str
    by_role: str
    note: str = ""


@dataclass(frozen=True)
class _Asked:
    task: str
    days: int
    cycles: int
    kind: str
    by_role: str
    renews: str = ""


_NEVER = 10**6
_ASKED = (
    _Asked("chamber_clean", 7, _NEVER, "routine", "user"),
    _Asked("reservoir_refill", 7, _NEVER, "routine", "user"),
    _Asked("deep_clean", 30, 100, "routine", "user"),
    _Asked("air_filter_replace", 182, 500, "routine", "user", "filter"),
    _Asked("gasket_replace", 365, 1000, "routine", "engineer", "gasket"),
    _Asked("service", 365, 2000, "service", "engineer"),
    _Asked("calibration", 365, _NEVER, "calibration", "engineer", "probe"),
    _Asked("validation", 365, _NEVER, "validation", "test person"),
)
_RENEWS = {asked.task: asked.renews for asked in _ASKED if asked.renews}
_YEARLY_LATENESS, _YEARLY_SHARE_OF_HABIT = 0.93, 0.25
"""Visitors from outside come when they are booked, whatever the habits of the house."""

_SKIPPED_SHARE = 0.012


def routine(
    rng: np.random.Generator, habit: Habit, plan: Plan, days: Days, site: Whole
) -> list[Act]:
    """The routine acts on a unit, by day."""
    day_count = len(site)
    is_possible = days.is_open & (site >= 0)
    runs_before = np.searchsorted(plan.day, np.arange(day_count + 1))
    from_day = int(np.argmax(site >= 0))
    acts = []
    for asked in _ASKED:
        # Unless the unit is new, its last service lies before the window, at any distance.
        spent = 0.0 if from_day > 0 else rng.uniform(0, 1)
        day = from_day
        while True:
            lateness = _lateness(rng, asked, habit, day / day_count)
            by_cycles = np.searchsorted(
                runs_before, runs_before[day] + asked.cycles * lateness * (1 - spent)
            )
            by_days = day + max(round(asked.days * lateness * (1 - spent)), 1)
            due = int(min(by_days, by_cycles))
            done = _nearest_possible(is_possible, day, due)
            if done is None:
                break
            acts.append(Act(asked.task, done, asked.kind, asked.by_role))
            day, spent = done, 0.0
    return sorted(acts, key=lambda act: act.day)


def renewed_parts(acts: list[Act]) -> list[tuple[str, int]]:
    """The parts that these acts renew, and the day."""
    return [(_RENEWS[act.task], act.day) for act in acts if act.task in _RENEWS]


def events(unit: Unit, repairs: list[Repair], window: Window) -> list[Act]:
    """What is logged beside routine: repairs, and a unit that moved or came."""
    acts = []
    for one in repairs:
        note = f"{one.component} renewed" if one.component else "no fault found"
        acts.append(Act("repair", one.back_index - 1, "repair", "engineer", note))
    for stay in unit.stays[1:]:
        acts.append(Act("relocation", window.index(stay.from_on), "relocation", "engineer"))
    came = window.index(unit.stays[0].from_on)
    if came > 0:
        note = "loaner" if Kind.LENT in unit.bound else ""
        acts.append(Act("installation", came, "installation", "engineer", note))
    return acts


def _lateness(
    rng: np.random.Generator, asked: _Asked, habit: Habit, share_of_window: float
) -> float:
    lateness = habit.upkeep_lateness + habit.upkeep_slope * share_of_window
    if asked.days >= 365:
        usual = 0.9
        return float(
            (_YEARLY_LATENESS + _YEARLY_SHARE_OF_HABIT * (lateness - usual))
            * rng.lognormal(0, 0.015)
        )
    skipped = rng.uniform(0.4, 1.0) if rng.random() < _SKIPPED_SHARE else 0.0
    return float(lateness * rng.lognormal(0, 0.05) + skipped)


def _nearest_possible(is_possible: Flags, after: int, due: int) -> int | None:
    """The last possible day up to the due one, or else the next; None beyond the last day."""
    if due >= len(is_possible):
        return None
    earlier = np.flatnonzero(is_possible[after + 1 : due + 1])
    if len(earlier):
        return after + 1 + int(earlier[-1])
    later = np.flatnonzero(is_possible[due + 1 :])
    return due + 1 + int(later[0]) if len(later) else None
