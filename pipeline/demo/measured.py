"""What a unit's controller measures in each run; what was not reached is not a number."""

import numpy as np

from pipeline.demo import faults, programs
from pipeline.demo.faults import Phase
from pipeline.demo.story import Story
from pipeline.demo.streams import Floats
from pipeline.physics.steam import saturation_kpa

_PLATEAU_ABOVE_SET_KELVIN = 1.25
_LEAST_ABOVE_SET_KELVIN = 0.2
_MOST_OFF_KELVIN = 1.8
"""Where a controller that compares temperature and pressure would not call a cycle complete."""


def hold_values(rng: np.random.Generator, story: Story) -> dict[str, Floats]:
    """Steam on the saturation line by pressure, temperature as the probe sees it."""
    count, reason = len(story.plan), story.timing.reason
    has_hold = story.program_has_steam & (story.timing.phase >= Phase.HOLD)
    set_celsius = np.array([one.set_celsius for one in programs.PROGRAMS])[story.plan.program]
    plateau = set_celsius + _PLATEAU_ABOVE_SET_KELVIN + rng.normal(0, 0.1, count)
    ripple = 0.3 + 0.3 * np.minimum(story.wear("heater"), 1.5) + 0.03 * rng.random(count)
    # Air that a worn gasket lets in lowers the steam's share of the pressure (Dalton).
    offset = story.machine.offset_kelvin - 0.45 * story.wear("gasket")
    offset += story.machine.drift_sign * 1.7 * story.wear("probe") + rng.normal(0, 0.05, count)
    offset = np.clip(offset, -_MOST_OFF_KELVIN, _MOST_OFF_KELVIN)
    # It goes by its own probe: one that reads low gets more steam.
    low = set_celsius + _LEAST_ABOVE_SET_KELVIN - (plateau - ripple + offset)
    plateau = plateau + np.maximum(low, 0)
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


def phase_values(rng: np.random.Generator, story: Story) -> dict[str, Floats]:
    """Depth of vacuum, times of phases and leak rate, where the run came so far."""
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


def conductivity(rng: np.random.Generator, story: Story) -> Floats:
    """Of the feed water: rises until the cartridge is changed."""
    used = (story.plan.day + 17 * story.unit.slot) % story.machine.water_days
    return np.maximum(2 + 9 * used / story.machine.water_days + rng.normal(0, 0.4, len(used)), 0.5)
