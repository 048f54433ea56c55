"""The log of one unit: what its controller, and the people beside it, note of each run."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.demo import faults, programs
from pipeline.demo.calendar import Days, Window
from pipeline.demo.faults import Phase
from pipeline.demo.habit import Habit
from pipeline.demo.life import Life
from pipeline.demo.plan import Plan
from pipeline.demo.scenario import Kind
from pipeline.demo.streams import Flags, Floats, Whole
from pipeline.demo.timing import Timing
from pipeline.demo.unit import Machine, Unit
from pipeline.demo.wear import COMPONENTS
from pipeline.physics.steam import saturation_kpa

_PLATEAU_ABOVE_SET_KELVIN = 1.25
_CLOCK_ERROR_SECONDS = 3600
_NOTES = ("run again", "packs opened, run again", "reservoir refilled – run again", "engineer told")


@dataclass(frozen=True)
class Story:
    """All that is known of a unit once its life is told."""

    unit: Unit
    machine: Machine
    habit: Habit
    plan: Plan
    life: Life
    timing: Timing
    days: Days
    site: Whole
    window: Window
    initials: str

    @property
    def program_has_steam(self) -> Flags:
        """True for the runs that are meant to reach a temperature."""
        return np.array([one.hold_seconds > 0 for one in programs.PROGRAMS])[self.plan.program]

    @property
    def program_is_load(self) -> Flags:
        """True for the runs that are meant to sterilize a load."""
        return np.array([one.load_kind != "" for one in programs.PROGRAMS])[self.plan.program]

    def wear(self, component: str) -> Floats:
        """The level of a component at each run."""
        return self.life.levels[:, COMPONENTS.index(component)]


def cycles_of(rng: np.random.Generator, story: Story) -> pl.DataFrame:
    """One row a run, in our own units and words; instants are UTC by the unit's own clock.

    Columns that begin with an underscore are for the simulator alone: no log has them.
    """
    plan, timing = story.plan, story.timing
    started = timing.started + _clock_error(story)
    frame = pl.DataFrame(
        {
            "unit_serial": np.full(len(plan), story.unit.serial),
            "site_index": story.site[plan.day],
            "cycle_number": _counter(story),
            "program": np.array([one.name for one in programs.PROGRAMS])[plan.program],
            "started": started,
            "ended": started + np.rint(timing.stopped_at).astype(np.int64),
            "outcome": _outcome(story),
            "stop_reason": _stop_reason(rng, story),
            **_hold(rng, story),
            **_phases(rng, story),
            "conductivity_us_per_cm": _conductivity(rng, story),
            **_load(rng, story),
            "note": _note(rng, story),
            "_started_utc": timing.started,
            "_has_steam": story.program_has_steam,
            "_has_vacuum": np.full(len(plan), story.unit.has_vacuum),
            **{f"_bound_{phase}": timing.bounds[:, phase] for phase in range(8)},
        },
        nan_to_null=True,
    )
    return frame.filter(story.life.is_run).with_columns(
        pl.from_epoch("started", "s"),
        pl.from_epoch("ended", "s"),
        pl.from_epoch("_started_utc", "s"),
        pl.col(pl.String).replace("", None),
    )


def _clock_error(story: Story) -> Whole:
    scenario = story.unit.bound.get(Kind.CLOCK)
    if scenario is None:
        return np.zeros(len(story.plan), dtype=np.int64)
    since = story.window.day_count - 1 - scenario.since_days
    return np.where(story.plan.day >= since, _CLOCK_ERROR_SECONDS, 0)


def _counter(story: Story) -> Whole:
    counted = np.cumsum(story.life.is_run)
    counter = story.machine.counter + counted
    scenario = story.unit.bound.get(Kind.RESET)
    if scenario is not None:
        since = story.window.day_count - 1 - scenario.since_days
        is_after = story.plan.day >= since
        counter = np.where(is_after, counted - counted[~is_after].max(initial=0), counter)
    return counter


def _outcome(story: Story) -> NDArray[np.str_]:
    reason, phase = story.timing.reason, story.timing.phase
    is_leak_test = story.plan.program == programs.INDEX["test_leak"]
    is_late = (phase >= Phase.HOLD) | (is_leak_test & (reason == faults.INDEX["air_leak"]))
    stopped = np.where(is_late & faults.IS_EQUIPMENT[reason], "failed", "stopped")
    return np.where(reason == faults.NOT_STOPPED, "complete", stopped)


def _stop_reason(rng: np.random.Generator, story: Story) -> NDArray[np.str_]:
    names = np.array([one.name for one in faults.REASONS] + [""])
    is_unknown = rng.random(len(story.plan)) < story.habit.unknown_reason_share
    names_or_unknown = np.where(is_unknown, "unknown", names[story.timing.reason])
    return np.where(story.timing.reason == faults.NOT_STOPPED, "", names_or_unknown)


def _hold(rng: np.random.Generator, story: Story) -> dict[str, Floats]:
    """Steam on the saturation line by pressure, temperature as the probe sees it."""
    count, reason = len(story.plan), story.timing.reason
    has_hold = story.program_has_steam & (story.timing.phase >= Phase.HOLD)
    set_celsius = np.array([one.set_celsius for one in programs.PROGRAMS])[story.plan.program]
    plateau = set_celsius + _PLATEAU_ABOVE_SET_KELVIN + rng.normal(0, 0.1, count)
    ripple = 0.3 + 0.3 * np.minimum(story.wear("heater"), 1.5) + 0.03 * rng.random(count)
    # Air that a worn gasket lets in lowers the steam's share of the pressure (Dalton).
    offset = story.machine.offset_kelvin - 0.45 * story.wear("gasket")
    offset += story.machine.drift_sign * 1.7 * story.wear("probe") + rng.normal(0, 0.05, count)
    fault = rng.uniform(2.3, 4.5, count)
    is_mismatch = reason == faults.INDEX["temperature_pressure_mismatch"]
    offset = np.where(is_mismatch, story.machine.drift_sign * fault, offset)
    drop = np.where(reason == faults.INDEX["temp_drop_in_hold"], fault, 0)
    rise = np.where(reason == faults.INDEX["over_temperature"], fault, 0)
    lowest, highest = plateau - ripple - drop, plateau + ripple + rise
    over = np.where(reason == faults.INDEX["over_pressure"], 12 * fault, 0)
    held = np.minimum(story.timing.stopped_at, story.timing.bounds[:, Phase.EXHAUST])
    columns = {
        "set_celsius": np.where(story.program_has_steam, set_celsius, np.nan),
        "hold_seconds": held - story.timing.bounds[:, Phase.HOLD],
        "hold_min_celsius": lowest + offset,
        "hold_max_celsius": highest + offset,
        "hold_min_kpa": saturation_kpa(lowest),
        "hold_max_kpa": saturation_kpa(highest) + over,
    }
    for name in columns.keys() - {"set_celsius"}:
        columns[name] = np.where(has_hold, columns[name], np.nan)
    return columns | {
        "_plateau_celsius": plateau,
        "_ripple_kelvin": ripple,
        "_offset_kelvin": offset,
        "_fault_kelvin": rise - drop,
    }


def _phases(rng: np.random.Generator, story: Story) -> dict[str, Floats]:
    count, timing = len(story.plan), story.timing
    depth = story.machine.depth_kpa + 8 * story.wear("pump") + 4 * story.wear("gasket")
    depth = depth + rng.normal(0, 0.3, count)
    is_shallow = timing.reason == faults.INDEX["vacuum_not_reached"]
    depth = np.where(is_shallow, depth + rng.uniform(10, 30, count), depth)
    has_depth = story.program_has_steam & ((timing.phase >= Phase.HEAT_UP) | is_shallow)
    heat_up = timing.bounds[:, Phase.HOLD] - timing.bounds[:, Phase.HEAT_UP]
    has_hold = story.program_has_steam & (timing.phase >= Phase.HOLD)
    dried = np.minimum(timing.stopped_at, timing.bounds[:, Phase.VENT])
    dried = dried - timing.bounds[:, Phase.DRYING]
    is_leak_test = story.plan.program == programs.INDEX["test_leak"]
    was_watched = (timing.phase == Phase.VENT) | (timing.reason == faults.INDEX["air_leak"])
    return {
        "air_removal_min_kpa": np.where(has_depth & story.unit.has_vacuum, depth, np.nan),
        "heat_up_seconds": np.where(has_hold, heat_up, np.nan),
        "drying_seconds": np.where((timing.phase >= Phase.DRYING) & (dried > 0), dried, np.nan),
        "leak_kpa_per_minute": np.where(
            is_leak_test & was_watched, story.life.leak_kpa_per_minute, np.nan
        ),
        "_depth_kpa": depth,
    }


def _conductivity(rng: np.random.Generator, story: Story) -> Floats:
    """Of the feed water: rises until the cartridge is changed."""
    used = (story.plan.day + 17 * story.unit.slot) % story.machine.water_days
    return np.maximum(2 + 9 * used / story.machine.water_days + rng.normal(0, 0.4, len(used)), 0.5)


def _load(rng: np.random.Generator, story: Story) -> dict[str, NDArray[np.str_]]:
    plan, count = story.plan, len(story.plan)
    is_load, chance = story.program_is_load, rng.random((3, count))
    is_complete = story.timing.reason == faults.NOT_STOPPED
    indicator = np.where(chance[0] < 0.011, "missing", "changed")
    indicator = np.where(chance[0] > 0.9990, "not_changed", indicator)
    unexposed = np.where(chance[0] < 0.5, "missing", "not_changed")
    indicator = np.where(story.timing.phase >= Phase.EXHAUST, indicator, unexposed)
    released = np.where((indicator == "changed") | (chance[1] < 0.6), "yes", "no")
    released = np.where(chance[1] > 0.998, "quarantined", released)
    released = np.where(is_complete, released, "no")
    operator = rng.integers(1, story.habit.operator_count + 1, count)
    kinds = np.array([one.load_kind for one in programs.PROGRAMS])
    # A stopped load goes in again, under its own number, when the unit runs next that day.
    is_again = np.zeros(count, dtype=bool)
    is_again[1:] = ~is_complete[:-1] & is_load[:-1] & (plan.day[1:] == plan.day[:-1])
    first = np.maximum.accumulate(np.where(is_again, 0, np.arange(count)))
    days = [
        f"{story.window.first_on + timedelta(days=day):%y%m%d}"
        for day in range(story.window.day_count)
    ]
    prefix = np.array([f"{story.initials}{story.unit.slot}-{day}-" for day in days])[plan.day]
    load_id = np.char.add(prefix, (plan.ordinal[first] + 1).astype(str))
    return {
        "load_id": np.where(is_load, load_id, ""),
        "load_kind": kinds[plan.program],
        "chemical_indicator": np.where(is_load, indicator, ""),
        "released": np.where(is_load, released, ""),
        "operator_code": np.char.add(story.initials, operator.astype(str)),
    }


def _note(rng: np.random.Generator, story: Story) -> NDArray[np.str_]:
    count = len(story.plan)
    has_note = (story.timing.reason != faults.NOT_STOPPED) & (rng.random(count) < 0.2)
    return np.where(has_note, np.array(_NOTES)[rng.integers(0, len(_NOTES), count)], "")
