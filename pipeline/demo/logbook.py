"""The spore tests of a unit, as people do them: weekly, or nearly, and written into a book."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl

from pipeline.base.period import iso_week_start
from pipeline.demo.scenario import Kind
from pipeline.demo.sporetest import Load, SporeTest, expose
from pipeline.demo.story import Story

_MINUTE = timedelta(minutes=1)
_REQUALIFICATION_TESTS = 3
_REPEATS_DEAD_CONTROL = 0.6


@dataclass(frozen=True)
class Logbook:
    """A unit's tests with their numbers, by exposure, and the Mondays of the weeks without."""

    tests: tuple[tuple[str, SporeTest], ...]
    missed_weeks: tuple[date, ...]


def logbook_of(
    rng: np.random.Generator, story: Story, cycles: pl.DataFrame, incubation_hours: int
) -> Logbook:
    """Tell the tests of a unit."""
    loads = _loads_of(story, cycles)
    first_of_day: dict[int, Load] = {}
    for load in loads:
        first_of_day.setdefault(load.day, load)
    missed = []
    qualifying = list(_requalifying(story, loads))
    planned = [(load, "requalification", False) for load in qualifying]
    weeks = dict(_weeks(story, first_of_day))
    # A week in which every load was stopped was a week of use all the same.
    missed += [one for one, _ in _weeks(story, _loaded_days(story, cycles)) if one not in weeks]
    for monday, days in weeks.items():
        chosen = _chosen_day(rng, story, monday, days)
        if chosen is None:
            missed.append(monday)
        elif first_of_day[chosen] not in qualifying:
            must_grow = _is_any_in_week(_growth_days(story), monday)
            planned.append((first_of_day[chosen], "routine", must_grow))
    tests = []
    for load, purpose, must_grow in sorted(planned, key=lambda one: one[0].started):
        result = "growth" if must_grow else None
        test = expose(rng, story, load, purpose, incubation_hours, result=result)
        tests.append(test)
        again = _repeat_day(rng, story, test, load, first_of_day)
        if again is not None:
            result = "no_growth" if must_grow else None
            load = first_of_day[again]
            tests.append(expose(rng, story, load, "repeat", incubation_hours, result=result))
    tests.sort(key=lambda test: test.exposed)
    prefix = f"{story.initials}{story.unit.slot}"
    numbered = tuple((f"{prefix}-{number:04d}", test) for number, test in enumerate(tests, 1))
    return Logbook(numbered, tuple(story.window.day(monday) for monday in sorted(missed)))


def _loads_of(story: Story, cycles: pl.DataFrame) -> list[Load]:
    is_run = story.life.is_run
    table = pl.DataFrame(
        {
            "number": cycles["cycle_number"],
            "started": cycles["_started_utc"],
            "ended": cycles["_started_utc"] + (cycles["ended"] - cycles["started"]),
            "day": story.plan.day[is_run],
            "gasket": story.wear("gasket")[is_run],
        }
    ).filter((cycles["outcome"] == "complete") & cycles["load_kind"].is_not_null())
    return [Load(*row) for row in table.iter_rows()]


def _loaded_days(story: Story, cycles: pl.DataFrame) -> list[int]:
    """Numbers of the days on which a load was started, false starts of a minute left out."""
    days = cycles.select(
        pl.Series("day", story.plan.day[story.life.is_run]),
        is_load=pl.col("load_kind").is_not_null()
        & ((pl.col("outcome") == "complete") | (pl.col("ended") - pl.col("started") >= _MINUTE)),
    )
    return days.filter("is_load")["day"].to_list()


def _day_of(story: Story, kind: Kind) -> int | None:
    scenario = story.unit.bound.get(kind)
    return None if scenario is None else story.window.day_count - 1 - scenario.since_days


def _growth_days(story: Story) -> list[int]:
    days = (_day_of(story, kind) for kind in (Kind.GROWS, Kind.GROWS_CLEARED))
    return [day for day in days if day is not None]


def _is_any_in_week(days: list[int], monday: int) -> bool:
    return any(0 <= day - monday < 7 for day in days)


def _requalifying(story: Story, loads: list[Load]) -> Iterator[Load]:
    """After a repair, a move and an arrival: the unit's first loads."""
    days = [repair.back_index for repair in story.life.repairs]
    days += [story.window.index(stay.from_on) for stay in story.unit.stays]
    for day in days:
        if day > 0:
            yield from [load for load in loads if load.day >= day][:_REQUALIFICATION_TESTS]


def _weeks(story: Story, run_days: Iterable[int]) -> Iterator[tuple[int, list[int]]]:
    """The day number of each Monday, with the days of its week on which the unit ran."""
    offset = (story.window.first_on - iso_week_start(story.window.first_on)).days
    weeks: dict[int, list[int]] = {}
    for day in run_days:
        weeks.setdefault((day + offset) // 7 * 7 - offset, []).append(day)
    yield from sorted(weeks.items())


def _chosen_day(rng: np.random.Generator, story: Story, monday: int, days: list[int]) -> int | None:
    """The day of the week's test; None when it is forgotten."""
    is_forgotten = rng.random() < story.habit.forgotten_week_share
    delay = int(rng.integers(1, 4)) if rng.random() < story.habit.late_week_share else 0
    wished = monday + story.habit.test_weekday + delay
    chosen = next((day for day in days if day >= wished), days[-1])
    if _is_any_in_week(_growth_days(story), monday):
        return chosen
    last_days = (_day_of(story, kind) for kind in (Kind.FORGETS, Kind.GROWS))
    is_given_up = any(day is not None and chosen > day for day in last_days)
    return None if is_forgotten or is_given_up else chosen


def _repeat_day(
    rng: np.random.Generator,
    story: Story,
    test: SporeTest,
    load: Load,
    first_of_day: dict[int, Load],
) -> int | None:
    """The day of the repeat: after growth the next one, after a dead control if somebody cares."""
    is_dead = test.control_result == "no_growth" and rng.random() < _REPEATS_DEAD_CONTROL
    if not is_dead and test.result != "growth":
        return None
    if test.read is None or Kind.GROWS in story.unit.bound:
        return None
    read_day = story.window.index(test.read.date())
    return next((day for day in first_of_day if day > max(read_day, load.day)), None)
