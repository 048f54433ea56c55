"""What a unit is asked to do: which programs on which days, before anything goes wrong."""

from dataclasses import dataclass

import numpy as np

from pipeline.demo import programs
from pipeline.demo.calendar import Days
from pipeline.demo.streams import Flags, Whole
from pipeline.demo.unit import Unit, leak_test_weekday
from pipeline.demo.window import Window

_MOST_LOADS_A_DAY = 9
_FORGOTTEN_DAILY_TEST_SHARE = 0.012


@dataclass(frozen=True)
class Plan:
    """One entry a run, in the order of the day; the days are numbers within the window."""

    day: Whole
    ordinal: Whole
    """Place in the day, from 0."""
    day_size: Whole
    """Runs of that day."""
    program: Whole
    is_monday_start: Flags

    def __len__(self) -> int:
        return len(self.day)


def merged_days(unit: Unit, days: dict[int, Days], window: Window) -> tuple[Days, Whole]:
    """The days that a unit lives through, site after site, and its site on each of them (or -1)."""
    site = np.full(window.day_count, -1)
    for stay in unit.stays:
        to_index = window.day_count if stay.to_on is None else window.index(stay.to_on)
        site[max(window.index(stay.from_on), 0) : max(to_index, 0)] = stay.site_index
    first = days[unit.stays[0].site_index]
    if len(unit.stays) == 1:
        return first, site
    second = days[unit.stays[1].site_index]
    is_second = site == unit.stays[1].site_index
    moved_at = first.midnight_seconds[np.argmax(is_second)] if is_second.any() else np.inf
    mixed = {
        name: np.where(is_second, getattr(second, name), getattr(first, name))
        for name in ("is_open", "volume", "wetness", "weekday", "midnight_seconds")
    }
    dips = np.concatenate([first.dips[first.dips < moved_at], second.dips[second.dips >= moved_at]])
    return Days(**mixed, dips=dips, closures=()), site


def plan_of(
    rng: np.random.Generator, unit: Unit, days: Days, site: Whole, loads_a_day: float
) -> Plan:
    """Draw the runs: Poisson loads by the day's volume, a penetration test first, a leak test."""
    count = len(site)
    mean = np.where(days.is_open & (site >= 0), loads_a_day * days.volume, 0.0)
    loads = np.minimum(rng.poisson(mean), _MOST_LOADS_A_DAY)
    penetration = np.zeros(count, dtype=np.int64)
    leak = np.zeros(count, dtype=np.int64)
    if unit.has_vacuum:
        is_done = (loads > 0) & (rng.random(count) >= _FORGOTTEN_DAILY_TEST_SHARE)
        penetration = is_done.astype(np.int64)
        leak = _weekly(loads > 0, days.weekday, leak_test_weekday(unit))
    sizes = loads + penetration + leak
    day = np.repeat(np.arange(count), sizes)
    ordinal = np.arange(len(day)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    program = rng.choice(len(programs.PROGRAMS), len(day), p=programs.mix(unit.air_removal))
    is_penetration = (ordinal == 0) & (penetration[day] == 1)
    is_leak = (ordinal == penetration[day]) & (leak[day] == 1)
    program[is_penetration] = programs.INDEX["test_steam_penetration"]
    program[is_leak] = programs.INDEX["test_leak"]
    is_monday_start = (ordinal == 0) & (days.weekday[day] == 0)
    return Plan(day, ordinal, sizes[day], program, is_monday_start)


def _weekly(is_in_use: Flags, weekday: Whole, due_weekday: int) -> Whole:
    """1 on the first day in use on or after the due weekday of each week, 0 elsewhere."""
    week = (np.arange(len(weekday)) + weekday[0]) // 7
    candidates = np.flatnonzero(is_in_use & (weekday >= due_weekday))
    _, first = np.unique(week[candidates], return_index=True)
    out = np.zeros(len(weekday), dtype=np.int64)
    out[candidates[first]] = 1
    return out
