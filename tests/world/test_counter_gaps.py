"""Missing counter values, in a dull loop, where full blocks of values are not sorted."""

import random
from datetime import date, datetime, timedelta

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.world.dull_spore import Cycle, Unit
from tests.world.spore_logs import PRACTICES, warehouse

FIRST = datetime(2026, 1, 5, 8)


@pytest.mark.parametrize("seed", range(4))
def test_values_are_missed_where_they_are_absent_and_nowhere_else(seed):
    rng = random.Random(f"gaps/{seed}")
    units, expected = [], {}
    for place in range(6):
        unit = Unit(f"U{place}", "weekly")
        start = rng.choice((1, 63, 64, 65, 1000))
        numbers = range(start, start + 600)
        # Values at the edge of a block of 64, some anywhere, and a stretch of a block and more.
        block = (start >> 6) + rng.randrange(2, 8)
        absent = {64 * block + edge for edge in rng.sample((-1, 0, 1), place % 3)}
        absent |= set(rng.sample(numbers, place)) - {start}
        if place == 5:
            absent |= set(range(start + 200, start + 290))
        last = None
        for number in numbers:
            if number in absent:
                continue
            started = FIRST + timedelta(
                days=(number - start) // 6, minutes=90 * ((number - start) % 6)
            )
            unit.cycles.append(Cycle(number, started, "pouch", 1800, True))
            if last is not None and number - last > 1:
                key = (unit.serial, started.date())
                expected[key] = expected.get(key, 0) + number - last - 1
            last = number
        rng.shuffle(unit.cycles)
        units.append(unit)
    con = warehouse(units, {"weekly": PRACTICES["weekly"]})
    build_facts(con, Window.of(date(2026, 10, 31)))

    found = con.execute(
        "SELECT unit_serial, used_on, missing_count FROM fact.counter_gap"
    ).fetchall()

    assert {(serial, on): count for serial, on, count in found} == expected
    assert len(expected) > 10
