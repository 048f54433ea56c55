"""What was not done in the invented network is found, and nothing else is: counted one by one."""

import itertools
import json
from collections import Counter, defaultdict
from datetime import date, timedelta
from functools import cache

import polars as pl
import pytest

from pipeline.config.load import load_network
from pipeline.demo.tell import UnitStory, tell
from pipeline.demo.unit import units_of
from pipeline.demo.window import Window
from pipeline.warehouse.measured import measured
from tests.world.dull_spore import Unit
from tests.world.dull_task import TaskRule, spent, state_of

SITES, MONTHS, SEED = 8, 2, 7
DUE = "SELECT unit_serial, task, days_overdue, state, reason FROM fact.task_due"
ENDED = (
    "SELECT unit_serial, task, from_on, is_late FROM fact.task_interval WHERE ended_on IS NOT NULL"
)


@pytest.fixture(scope="module")
def found(ran):
    """The figures of the world, and the truth about it."""
    folder, _ = ran
    truth = json.loads((folder / "truth" / "truth.json").read_text(encoding="utf-8"))
    with measured(load_network(folder).state_folder) as (con, _):
        yield con, truth


@cache
def told(ends_on: date) -> dict[str, UnitStory]:
    """The story of each unit, told again."""
    window = Window.of_months(ends_on, MONTHS)
    return {
        unit.serial: tell(SEED, unit, window)
        for index in range(SITES)
        for unit in units_of(index, SITES, window)
    }


def test_every_day_without_a_penetration_test_is_found_and_no_other(found, ends_on):
    con, truth = found
    stories = told(ends_on)
    forgotten = {
        (unit["unit_serial"], date.fromisoformat(on))
        for unit in truth["units"]
        for on in unit["days_without_penetration_test"]
    }
    # A test that was stopped is no test: those days are missing as well.
    stopped = {
        (serial, on)
        for serial, story in stories.items()
        if story.story.unit.has_vacuum
        for on in _days(story.cycles, "stopped")
        - _days(story.cycles, "complete")
        - _days(story.cycles, "failed")
    }
    states = {
        (serial, on): state
        for serial, on, state in con.execute(
            "SELECT unit_serial, period_on, state FROM fact.routine_period "
            "WHERE test = 'steam_penetration'"
        ).fetchall()
    }
    wrong = forgotten | stopped
    missed = {day for day, state in states.items() if state == "not_done"}

    counts = Counter(states[day] for day in wrong if day in states)
    assert counts["not_done"] >= 5
    assert set(counts) <= {"not_done", "not_seen"}
    assert missed - wrong == set()
    assert {day for day in wrong if states.get(day) == "not_done"} == missed


def _days(cycles: pl.DataFrame, outcome: str) -> set[date]:
    tests = cycles.filter(
        (pl.col("program") == "test_steam_penetration") & (pl.col("outcome") == outcome)
    )
    return set(tests["started"].dt.date())


def test_every_task_stands_as_the_story_tells_it_and_every_late_one_is_found(found, ends_on):
    """Held against the acts as they were done, not as they were sent, by the loops of dull_task."""
    con, _ = found
    rules = [
        TaskRule(*row)
        for row in con.execute(
            "SELECT task, days, cycles, grace_days, act_now_days, is_paused_when_closed "
            "FROM practice.task_rule ORDER BY task"
        ).fetchall()
    ]
    closed, counts = defaultdict(set), Counter()
    for serial, on in con.execute("SELECT unit_serial, closed_on FROM fact.closed_day").fetchall():
        closed[serial].add(on)
    from_on = dict(con.execute("SELECT unit_serial, from_on FROM fact.service").fetchall())
    due = {row[:2]: row[2:] for row in con.execute(DUE).fetchall()}
    late = {row[:3]: row[3] for row in con.execute(ENDED).fetchall()}
    for serial in sorted(from_on):
        story, unit = told(ends_on)[serial], Unit(serial, "", closed=closed[serial])
        ran = sorted(_ran(story.cycles))
        for rule in rules:
            acts = story.acts.filter(pl.col("task") == rule.task)["done_on"].to_list()
            last = max((on for on in acts if on <= ends_on), default=from_on[serial])
            expected = spent(unit, ran, rule, last, ends_on)
            days_overdue, state, reason = due[serial, rule.task]
            assert reason != "not_seen", (serial, rule.task)
            assert days_overdue == expected.days_late, (serial, rule.task)
            assert state == state_of(rule, expected, ends_on in unit.closed), (serial, rule.task)
            counts[state] += 1
            for first, second in itertools.pairwise(sorted(acts)):
                is_late = spent(unit, ran, rule, first, second).days_late > rule.grace_days
                assert late[serial, rule.task, first] == is_late, (serial, rule.task, first)
                counts[is_late] += 1
    assert counts["look_into"] >= 5 and counts["act_now"] >= 5 and counts["usual"] > 50
    assert counts[True] >= 3 and counts[False] > 100


def _ran(cycles: pl.DataFrame) -> list[date]:
    """Days of the cycles that wear a unit: false starts do not."""
    is_short = (pl.col("ended") - pl.col("started")) < timedelta(seconds=60)
    worn = cycles.filter(~((pl.col("outcome") == "stopped") & is_short))
    return worn["started"].dt.date().to_list()
