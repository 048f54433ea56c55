"""What must hold of due dates and lookbacks whatever the logs say; tried on many invented logs."""

import copy
import random
from datetime import date, datetime, timedelta

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.world.dull_spore import SporeTest, Unit, Version
from tests.world.spore_logs import PRACTICES, invented, warehouse

AS_OF = date(2026, 10, 24)
BEGAN = date(2024, 2, 5)
WEEK = timedelta(days=7)
DUTY = (
    "SELECT unit_serial, program, due_on, is_forecast, is_overdue, days_overdue, "
    "cycles_while_overdue FROM fact.spore_duty ORDER BY ALL"
)
LOOKBACK = "SELECT incident_id, cycle_id FROM fact.lookback ORDER BY ALL"
WEEKS = "SELECT unit_serial, week_on, state FROM fact.spore_week ORDER BY ALL"


@pytest.fixture
def units() -> list[Unit]:
    """Three units under each practice, since some weeks after the history begins."""
    units = invented(42, 1090, seed=11)
    for unit in units:
        unit.cycles = [one for one in unit.cycles if one.on >= BEGAN]
        unit.tests = [one for one in unit.tests if one.on >= BEGAN]
    return units


def measured(
    units: list[Unit], as_of: date = AS_OF, practices: dict[str, list[Version]] = PRACTICES
):
    con = warehouse(units, practices)
    build_facts(con, Window.of(as_of))
    return con


def with_tests(units: list[Unit], state: str, seed: int) -> list[Unit]:
    """The same logs with a further test in one load of each unit, and of each of its last days."""
    rng, more = random.Random(seed), copy.deepcopy(units)
    for unit in more:
        tested = {test.cycle.number for test in unit.tests}
        free = [c for c in unit.cycles if c.is_load and c.on <= AS_OF and c.number not in tested]
        for place, cycle in enumerate((*rng.sample(free, 3), free[-1])):
            unit.tests.append(SporeTest(f"more-{place}", cycle, state, cycle.on))
    return more


def test_a_valid_negative_more_makes_nothing_more_overdue(units):
    before = {row[:2]: row for row in measured(units).execute(DUTY).fetchall()}
    after = measured(with_tests(units, "valid_negative", 1)).execute(DUTY).fetchall()

    assert any(row[4] for row in before.values())
    for row in after:
        assert row[5:] <= before[row[:2]][5:], row
        assert row[4] <= before[row[:2]][4], row
    assert sum(row[4] for row in after) < sum(row[4] for row in before.values())


@pytest.mark.parametrize("state", ["invalid_control", "no_control", "early_read", "contaminated"])
def test_a_test_that_does_not_count_changes_no_due_date_and_no_lookback(units, state):
    before, after = measured(units), measured(with_tests(units, state, 2))

    for query in (DUTY, LOOKBACK):
        rows = before.execute(query).fetchall()
        assert after.execute(query).fetchall() == rows
        assert rows


def test_everything_a_week_later_is_due_a_week_later(units):
    moved, practices = copy.deepcopy(units), {}
    for unit in moved:
        unit.closed = {on + WEEK for on in unit.closed}
        for cycle in unit.cycles:
            cycle.started += WEEK
        for test in unit.tests:
            test.read_on = test.read_on and test.read_on + WEEK
    for name, versions in PRACTICES.items():
        practices[name] = [
            Version(**{**vars(one), **{
                key: value + WEEK
                for key in ("valid_from", "valid_to")
                if (value := getattr(one, key)) not in (date.min, date.max)
            }})
            for one in versions
        ]  # fmt: skip
    before = measured(units).execute(DUTY).fetchall()
    after = measured(moved, AS_OF + WEEK, practices).execute(DUTY).fetchall()

    assert after == [(*row[:2], row[2] and row[2] + WEEK, *row[3:]) for row in before]


def test_the_order_in_which_lines_arrive_does_not_matter(units):
    shuffled, rng = copy.deepcopy(units), random.Random(3)
    rng.shuffle(shuffled)
    for unit in shuffled:
        rng.shuffle(unit.cycles)
        rng.shuffle(unit.tests)
    before, after = measured(units), measured(shuffled)

    for query in (DUTY, LOOKBACK, WEEKS):
        assert after.execute(query).fetchall() == before.execute(query).fetchall()


def test_a_day_of_the_past_gives_what_was_known_to_have_happened_by_then(units):
    then = date(2026, 5, 13)
    known = copy.deepcopy(units)
    for unit in known:
        unit.cycles = [one for one in unit.cycles if one.on <= then]
        unit.tests = [one for one in unit.tests if one.on <= then]
        unit.closed = {on for on in unit.closed if on <= then}
        for test in unit.tests:
            if test.read_on and test.read_on > then:
                test.state, test.read_on = "pending", None
    before, after = measured(units, then), measured(known, then)

    assert datetime.combine(then, datetime.max.time()) > max(
        cycle.started for unit in known for cycle in unit.cycles
    )
    for query in (DUTY, LOOKBACK, WEEKS):
        assert after.execute(query).fetchall() == before.execute(query).fetchall()
