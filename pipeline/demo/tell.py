"""A unit's whole story, told once: its cycles, its spore tests and its upkeep."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.demo import upkeep
from pipeline.demo.calendar import days_of
from pipeline.demo.cycles import cycles_of
from pipeline.demo.habit import habit_of
from pipeline.demo.life import live
from pipeline.demo.logbook import Logbook, logbook_of
from pipeline.demo.plan import merged_days, plan_of
from pipeline.demo.sites import place
from pipeline.demo.story import Story
from pipeline.demo.streams import Draws, stream
from pipeline.demo.timing import timing_of
from pipeline.demo.unit import Unit, initials, machine_of
from pipeline.demo.window import Closure, Window

_COUNTER_NOTED_SHARE = 0.85


@dataclass(frozen=True)
class UnitStory:
    """What is written about a unit, at whatever site, before anybody exports it."""

    story: Story
    cycles: pl.DataFrame
    book: Logbook
    acts: pl.DataFrame
    closures: tuple[Closure, ...]


def tell(seed: int, unit: Unit, window: Window) -> UnitStory:
    """Everything that happens to one unit; no other unit has a part in it but through the site."""
    key = (unit.home, unit.slot)
    site = place(unit.home, window.ends_on)
    habit = habit_of(seed, unit.home, site.clinic)
    machine = machine_of(seed, unit, window)
    all_days = {stay.site_index: days_of(seed, stay.site_index, window) for stay in unit.stays}
    days, where = merged_days(unit, all_days, window)
    loads_a_day = habit.loads_a_day * machine.loads_factor
    plan = plan_of(stream(seed, Draws.USE, *key), unit, days, where, loads_a_day)
    acts = upkeep.routine(stream(seed, Draws.UPKEEP, *key), habit, plan, days, where)
    fate = stream(seed, Draws.FATE, *key)
    parts = upkeep.renewed_parts(acts)
    life = live(fate, unit, machine, habit, plan, days, window, parts)
    timing = timing_of(fate, unit, machine, plan, life, days, site.clinic)
    story = Story(
        unit, machine, habit, plan, life, timing, days, where, window, initials(site.name)
    )
    cycles = cycles_of(fate, story)
    spore = stream(seed, Draws.SPORE, *key)
    book = logbook_of(spore, story, cycles, site.incubation_hours)
    acts += upkeep.events(unit, life.repairs, window)
    closures = tuple(
        Closure(window.day(one.from_index), window.day(one.back_index - 1), "repair", unit.serial)
        for one in life.repairs
    )
    return UnitStory(story, cycles, book, _upkeep_book(spore, story, cycles, acts), closures)


def _upkeep_book(
    rng: np.random.Generator, story: Story, cycles: pl.DataFrame, acts: list[upkeep.Act]
) -> pl.DataFrame:
    """The acts as noted: with the day's counter, unless somebody did not look."""
    ordered = sorted(acts, key=lambda act: (act.day, act.task))
    run_days = story.plan.day[story.life.is_run]
    counters = np.concatenate([[story.machine.counter], cycles["cycle_number"].to_numpy()])
    at = np.searchsorted(run_days, [act.day for act in ordered], side="right")
    was_noted = rng.random(len(ordered)) < _COUNTER_NOTED_SHARE
    return pl.DataFrame(
        {
            "unit_serial": [story.unit.serial] * len(ordered),
            "site_index": [int(story.site[min(act.day, len(story.site) - 1)]) for act in ordered],
            "task": [act.task for act in ordered],
            "done_on": [story.window.day(act.day) for act in ordered],
            "counter": [
                int(number) if noted else None
                for number, noted in zip(counters[at], was_noted, strict=True)
            ],
            "by_role": [act.by_role for act in ordered],
            "kind": [act.kind for act in ordered],
            "note": [act.note or None for act in ordered],
        },
        schema_overrides={"counter": pl.Int64, "note": pl.String, "done_on": pl.Date},
    )
