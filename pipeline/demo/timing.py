"""When each run starts, how long its phases last, and where in them a stopped run stops."""

from dataclasses import dataclass

import numpy as np

from pipeline.demo import faults, programs
from pipeline.demo.calendar import Days
from pipeline.demo.faults import Phase
from pipeline.demo.life import Life
from pipeline.demo.plan import Plan
from pipeline.demo.streams import Floats, Whole
from pipeline.demo.unit import Machine, Unit
from pipeline.demo.wear import COMPONENTS

_DAY_STARTS, _DAY_ENDS = 7 * 3600 + 50 * 60, 17 * 3600
_RELOAD_SECONDS = 180
_NIGHT_SHARE = 0.16
_COLD_HEAT_UP, _MONDAY_HEAT_UP = 1.10, 1.22
_LEAK_TEST_SECONDS = 180 + 300 + 600
"""Pump down, settle for 5 min, watch for 10: the usual order of the test (from memory)."""
_TIMEOUTS = (faults.INDEX["heat_up_timeout"], faults.INDEX["vacuum_not_reached"])


@dataclass(frozen=True)
class Timing:
    """One entry a run; seconds count from its start, UTC seconds from 1970."""

    started: Whole
    bounds: Floats
    """Column p is where phase p begins, the last one where the run would end."""
    stopped_at: Floats
    """Where the run ended, stopped or not."""
    reason: Whole
    """As lived, but that a dip of the mains stops what it hits."""
    phase: Whole
    """The phase in which the run ended; the last one when it was not stopped."""


def timing_of(
    rng: np.random.Generator,
    unit: Unit,
    machine: Machine,
    plan: Plan,
    life: Life,
    days: Days,
    clinic: str,
) -> Timing:
    """Lay the runs of a unit one after the other into its days."""
    bounds = _bounds(rng, unit, machine, plan, life, days)
    stopped_at = _stopped_at(rng, life.reason, bounds)
    bounds = _stretched(bounds, stopped_at, life.reason)
    wished = _wished_starts(rng, plan, days, is_open_at_night=clinic == "veterinary")
    started = _one_after_the_other(wished, np.ceil(stopped_at).astype(np.int64) + _RELOAD_SECONDS)
    reason, phase = life.reason.copy(), faults.PHASES[life.reason]
    if len(days.dips):
        dip = days.dips[np.minimum(np.searchsorted(days.dips, started), len(days.dips) - 1)]
        is_hit = (dip >= started) & (dip < started + stopped_at)
        reason[is_hit] = faults.INDEX["power_loss"]
        stopped_at[is_hit] = (dip - started)[is_hit] + 1.0
        phase[is_hit] = (stopped_at[is_hit, None] > bounds[is_hit, 1:7]).sum(axis=1)
    return Timing(started, bounds, stopped_at, reason, phase)


def _bounds(
    rng: np.random.Generator, unit: Unit, machine: Machine, plan: Plan, life: Life, days: Days
) -> Floats:
    count = len(plan)
    wear = {part: life.levels[:, index] for index, part in enumerate(COMPONENTS)}
    asked = np.array(
        [(one.set_celsius, one.hold_seconds, one.drying_seconds) for one in programs.PROGRAMS]
    )[plan.program]
    noise = rng.lognormal(0, 0.03, (count, 7))
    seconds = np.zeros((count, 7))
    seconds[:, Phase.FILL] = 75
    seconds[:, Phase.AIR_REMOVAL] = machine.air_seconds * (1 + 0.3 * wear["pump"])
    heat_up = machine.heat_up_seconds * np.where(asked[:, 0] < 130, 0.8, 1.0)
    heat_up *= np.where(plan.ordinal == 0, _COLD_HEAT_UP, 1.0)
    heat_up *= np.where(plan.is_monday_start, _MONDAY_HEAT_UP / _COLD_HEAT_UP, 1.0)
    seconds[:, Phase.HEAT_UP] = heat_up * (1 + 0.55 * wear["heater"])
    seconds[:, Phase.EXHAUST] = 90
    wet = days.wetness[plan.day]
    seconds[:, Phase.DRYING] = asked[:, 2] * machine.drying_factor
    seconds[:, Phase.DRYING] *= 1 + 0.35 * wear["filter"] + 0.15 * wear["pump"] + 0.04 * wet
    seconds[:, Phase.VENT] = 30
    seconds *= noise
    # The controller keeps the hold a few seconds longer than asked, never shorter.
    seconds[:, Phase.HOLD] = asked[:, 1] + rng.integers(3, 13, count)
    has_steam = asked[:, 1] > 0
    for phase in (Phase.HEAT_UP, Phase.HOLD, Phase.EXHAUST):
        seconds[~has_steam, phase] = 0
    is_leak = plan.program == programs.INDEX["test_leak"]
    seconds[is_leak, Phase.FILL] = 0
    seconds[is_leak, Phase.AIR_REMOVAL] = _LEAK_TEST_SECONDS
    if not unit.has_vacuum:
        seconds[:, Phase.AIR_REMOVAL] *= 0.75
    return np.concatenate([np.zeros((count, 1)), np.cumsum(np.round(seconds), axis=1)], axis=1)


def _stopped_at(rng: np.random.Generator, reason: Whole, bounds: Floats) -> Floats:
    rows = np.arange(len(reason))
    phase = faults.PHASES[reason]
    share = rng.uniform(0.05, 0.95, len(reason))
    begins, ends = bounds[rows, phase], bounds[rows, phase + 1]
    at = begins + share * (ends - begins)
    # A timeout is what happens when the phase takes too long, so it comes after its usual end.
    at = np.where(np.isin(reason, _TIMEOUTS), begins + (1.5 + 0.3 * share) * (ends - begins), at)
    # A door that is not shut is found at once.
    at = np.where(reason == faults.INDEX["door_not_closed"], 4 + 60 * share, at)
    is_leak = (reason == faults.INDEX["air_leak"]) & (bounds[:, 3] == bounds[:, 2])
    at = np.where(is_leak, bounds[:, -1], at)
    return np.where(reason == faults.NOT_STOPPED, bounds[:, -1], np.floor(at) + 1)


def _stretched(bounds: Floats, stopped_at: Floats, reason: Whole) -> Floats:
    """Bounds in which a phase that timed out would have ended only after the stop."""
    rows = np.flatnonzero(np.isin(reason, _TIMEOUTS))
    out = bounds.copy()
    for row in rows:
        phase = faults.PHASES[reason[row]]
        out[row, phase + 1 :] += 1.3 * (stopped_at[row] - bounds[row, phase + 1])
    return out


def _wished_starts(
    rng: np.random.Generator, plan: Plan, days: Days, *, is_open_at_night: bool
) -> Whole:
    slot = np.minimum((_DAY_ENDS - _DAY_STARTS) / plan.day_size, 6000)
    wished = _DAY_STARTS + (plan.ordinal + 0.5 * rng.random(len(plan))) * slot
    night = rng.uniform(20 * 3600, 26.5 * 3600, len(plan))
    is_night = (plan.ordinal == plan.day_size - 1) & (rng.random(len(plan)) < _NIGHT_SHARE)
    if is_open_at_night:
        wished = np.where(is_night, night, wished)
    return days.midnight_seconds[plan.day] + np.floor(wished).astype(np.int64)


def _one_after_the_other(wished: Whole, busy: Whole) -> Whole:
    """The earliest starts, no earlier than wished, at which a run finds the unit free.

    The same as a queue with one server: Lindley's recursion, unrolled.
    """
    busy_before = np.cumsum(busy) - busy
    return busy_before + np.maximum.accumulate(wished - busy_before)
