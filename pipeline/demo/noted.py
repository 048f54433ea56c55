"""What people write beside each run; an empty text is a blank."""

import numpy as np
from numpy.typing import NDArray

from pipeline.demo import faults, programs
from pipeline.demo.faults import Phase
from pipeline.demo.story import Story

_NOTES = ("run again", "packs opened, run again", "reservoir refilled – run again", "engineer told")


def load_entries(rng: np.random.Generator, story: Story) -> dict[str, NDArray[np.str_]]:
    """What was in the run, what the strip beside it showed, and who let it go."""
    plan, count = story.plan, len(story.plan)
    is_load, chance = story.program_is_load, rng.random((3, count))
    is_complete = story.timing.reason == faults.NOT_STOPPED
    indicator = np.where(chance[0] < 0.011, "missing", "changed")
    indicator = np.where(chance[0] > 0.9990, "not_changed", indicator)
    unexposed = np.where(chance[0] < 0.5, "missing", "not_changed")
    indicator = np.where(story.timing.phase >= Phase.EXHAUST, indicator, unexposed)
    signed = np.where(indicator == "missing", chance[1] < 0.6, chance[1] < 0.02)
    released = np.where((indicator == "changed") | signed, "yes", "no")
    released = np.where(chance[1] > 0.998, "quarantined", released)
    released = np.where(is_complete, released, "no")
    operator = rng.integers(1, story.habit.operator_count + 1, count)
    kinds = np.array([one.load_kind for one in programs.PROGRAMS])
    # A stopped load goes in again, under its own number, when the unit runs next that day.
    is_again = np.zeros(count, dtype=bool)
    is_again[1:] = ~is_complete[:-1] & is_load[:-1] & (plan.day[1:] == plan.day[:-1])
    first = np.maximum.accumulate(np.where(is_again, 0, np.arange(count)))
    days = [f"{story.window.day(index):%y%m%d}" for index in range(story.window.day_count)]
    prefix = np.array([f"{story.initials}{story.unit.slot}-{day}-" for day in days])[plan.day]
    load_id = np.char.add(prefix, (plan.ordinal[first] + 1).astype(str))
    return {
        "load_id": np.where(is_load, load_id, ""),
        "load_kind": kinds[plan.program],
        "chemical_indicator": np.where(is_load, indicator, ""),
        "released": np.where(is_load, released, ""),
        "operator_code": np.char.add(story.initials, operator.astype(str)),
    }


def notes(rng: np.random.Generator, story: Story) -> NDArray[np.str_]:
    """A remark beside a stop, now and then."""
    count = len(story.plan)
    has_note = (story.timing.reason != faults.NOT_STOPPED) & (rng.random(count) < 0.2)
    return np.where(has_note, np.array(_NOTES)[rng.integers(0, len(_NOTES), count)], "")
