"""Tasks of invented logs against the dull loops beside this file, and what must hold of any log."""

import copy
import random
from dataclasses import replace
from datetime import date, timedelta

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.world import dull_task as dull
from tests.world.spore_logs import invented
from tests.world.task_logs import RULES, acts_of, task_warehouse

AS_OF = date(2026, 10, 24)
FROM_ON = Window.of(AS_OF).from_on
WEEK = timedelta(days=7)
DUE = (
    "SELECT unit_serial, task, due_on, days_overdue, cycles_overdue, days_since, cycles_since, "
    "state, reason FROM fact.task_due ORDER BY ALL"
)
INTERVALS = (
    "SELECT unit_serial, task, from_on, ended_on, days_late FROM fact.task_interval ORDER BY ALL"
)


@pytest.fixture(scope="module")
def units():
    """Forty-four units, since some weeks after the history begins: a week more is seen too."""
    units = invented(44, 1090, seed=5)
    for unit in units:
        unit.cycles = [one for one in unit.cycles if one.on >= date(2024, 2, 5)]
        unit.tests = [one for one in unit.tests if one.on >= date(2024, 2, 5)]
    return units


@pytest.fixture(scope="module")
def acts(units):
    return {
        serial: [(task, on) for task, on in done if on >= date(2024, 2, 5)]
        for serial, done in acts_of(units, 1090, seed=5).items()
    }


def measured(units, acts, as_of: date = AS_OF, rules=RULES):
    con = task_warehouse(units, acts, rules)
    build_facts(con, Window.of(as_of))
    return con


@pytest.fixture(scope="module")
def con(units, acts):
    return measured(units, acts)


def test_every_task_stands_as_the_dull_loops_say(units, acts, con):
    found = {row[:2]: row[2:] for row in con.execute(DUE).fetchall()}
    seen = set()
    for unit in units:
        ran = dull.runs(unit, AS_OF)
        for task in sorted({rule.task for rule in RULES}):
            done = [on for name, on in acts[unit.serial] if name == task and on <= AS_OF]
            last_on = max(done, default=date(2020, 1, 1))
            rule, expected = dull.judged(unit, ran, RULES, task, last_on, AS_OF)
            due_on, days_overdue, _, days_since, cycles_since, state, reason = found[
                unit.serial, task
            ]
            where = f"{unit.serial}, {task}"
            assert (days_since, cycles_since) == (expected.days, expected.cycles), where
            assert days_overdue == expected.days_late, where
            if expected.due_on is not None:
                assert due_on == expected.due_on, where
            else:
                # A forecast, or nothing where the unit has not run lately.
                assert due_on is None or due_on > AS_OF, where
            if reason != "not_seen":
                assert state == dull.state_of(rule, expected, AS_OF in unit.closed), where
                seen.add((task, state, bool(done)))
    assert {state for _, state, _ in seen} == {"usual", "look_into", "act_now"}
    assert {done for *_, done in seen} == {True, False}


def test_every_interval_that_ended_is_late_by_as_much_as_the_dull_loops_say(units, acts, con):
    late = 0
    for unit in units[:15]:
        found = {
            (task, from_on): row
            for task, from_on, *row in con.execute(
                "SELECT task, from_on, ended_on, days_late, is_late FROM fact.task_interval "
                "WHERE unit_serial = ? AND ended_on IS NOT NULL",
                [unit.serial],
            ).fetchall()
        }
        ran, count = dull.runs(unit, AS_OF), 0
        for task in {rule.task for rule in RULES}:
            done = sorted(on for name, on in acts[unit.serial] if name == task and on <= AS_OF)
            for from_on, ended_on in zip(done, done[1:], strict=False):
                if (task, from_on) not in found and ended_on < FROM_ON:
                    continue
                rule, used = dull.judged(unit, ran, RULES, task, from_on, ended_on)
                expected = used.days_late
                is_late = expected > rule.grace_days
                assert found[task, from_on] == [ended_on, expected, is_late], (unit.serial, task)
                count, late = count + 1, late + is_late
        assert count == len(found)
    assert late > 20


def test_doing_a_task_once_more_makes_nothing_more_overdue(units, acts, con):
    rng, more = random.Random(1), copy.deepcopy(acts)
    for done in more.values():
        for task in sorted({rule.task for rule in RULES}):
            done.append((task, AS_OF - timedelta(days=rng.randrange(120))))
        done[:] = sorted(set(done))
    before = {row[:2]: row for row in con.execute(DUE).fetchall()}
    after = measured(units, more).execute(DUE).fetchall()

    assert any(row[3] for row in before.values())
    for row in after:
        assert row[3] <= before[row[:2]][3], row
        # By the version of old it was due by days alone.
        if row[1] != "water_change":
            assert (row[4] or 0) <= (before[row[:2]][4] or 0), row
    assert sum(row[3] for row in after) < sum(row[3] for row in before.values())


def test_everything_a_week_later_is_due_a_week_later(units, acts, con):
    moved = copy.deepcopy(units)
    for unit in moved:
        unit.closed = {on + WEEK for on in unit.closed}
        for cycle in unit.cycles:
            cycle.started += WEEK
        for test in unit.tests:
            test.read_on = test.read_on and test.read_on + WEEK
    later = {serial: [(task, on + WEEK) for task, on in done] for serial, done in acts.items()}
    rules = [
        replace(
            one,
            valid_from=one.valid_from if one.valid_from == date.min else one.valid_from + WEEK,
            valid_to=one.valid_to if one.valid_to == date.max else one.valid_to + WEEK,
        )
        for one in RULES
    ]
    before = con.execute(DUE).fetchall()
    after = measured(moved, later, AS_OF + WEEK, rules).execute(DUE).fetchall()
    never = {(serial, task) for serial, task, *_, reason in before if reason == "never_done"}

    for one, other in zip(before, after, strict=True):
        if one[:2] not in never:
            assert other == (*one[:2], one[2] and one[2] + WEEK, *one[3:])


def test_the_order_in_which_lines_arrive_does_not_matter(units, acts, con):
    rng, shuffled = random.Random(3), copy.deepcopy(units)
    rng.shuffle(shuffled)
    mixed = {serial: rng.sample(done, len(done)) for serial, done in reversed(acts.items())}
    for unit in shuffled:
        rng.shuffle(unit.cycles)
    other = measured(shuffled, mixed)

    for query in (DUE, INTERVALS):
        assert other.execute(query).fetchall() == con.execute(query).fetchall()


def test_a_day_of_the_past_gives_what_had_happened_by_then(units, acts):
    then = date(2026, 5, 13)
    known = copy.deepcopy(units)
    for unit in known:
        unit.cycles = [one for one in unit.cycles if one.on <= then]
        unit.tests = [one for one in unit.tests if one.on <= then]
        unit.closed = {on for on in unit.closed if on <= then}
    done = {serial: [act for act in each if act[1] <= then] for serial, each in acts.items()}

    before, after = measured(units, acts, then), measured(known, done, then)
    assert before.execute(DUE).fetchall() == after.execute(DUE).fetchall()
