"""The log of one unit: what its controller, and the people beside it, note of each run."""

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.demo import faults, programs
from pipeline.demo.faults import Phase
from pipeline.demo.measured import conductivity, hold_values, phase_values
from pipeline.demo.mishap import with_mishaps
from pipeline.demo.noted import load_entries, notes
from pipeline.demo.scenario import Kind
from pipeline.demo.story import Story
from pipeline.demo.streams import Whole

_CLOCK_ERROR_SECONDS = 3600


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
            **hold_values(rng, story),
            **phase_values(rng, story),
            "conductivity_us_per_cm": conductivity(rng, story),
            **load_entries(rng, story),
            "note": notes(rng, story),
            "_started_utc": timing.started,
            "_has_steam": story.program_has_steam,
            "_has_vacuum": np.full(len(plan), story.unit.has_vacuum),
            **{f"_bound_{phase}": timing.bounds[:, phase] for phase in range(8)},
        },
        nan_to_null=True,
    )
    frame = frame.filter(story.life.is_run).with_columns(
        pl.from_epoch("started", "s"),
        pl.from_epoch("ended", "s"),
        pl.from_epoch("_started_utc", "s"),
        pl.col(pl.String).replace("", None),
    )
    return with_mishaps(frame, story.unit.bound, story.window)


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
