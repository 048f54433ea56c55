"""When maintenance is due where days or cycles count, whichever come first: worked cases.

The interval of half a year or 400 cycles is reported of German practice (a laboratory's page); the
day on which the cycles run out was worked out by counting weekdays on a calendar.
"""

from datetime import date, datetime, timedelta

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.world.dull_spore import Cycle, Unit
from tests.world.dull_task import TaskRule
from tests.world.task_logs import task_warehouse

HALF_A_YEAR = TaskRule("service", days=182, cycles=400)


def due(loads_a_day: int, until: date, as_of: date) -> dict[str, object]:
    """A unit serviced on 31 December 2025, used Monday to Friday from 1 January 2026."""
    unit, number, on = Unit("U1", "weekly"), 0, date(2026, 1, 1)
    while on <= until:
        if on.isoweekday() <= 5:
            for turn in range(loads_a_day):
                number += 1
                started = datetime(on.year, on.month, on.day, 7) + timedelta(minutes=40 * turn)
                unit.cycles.append(Cycle(number, started, "pouch", 2400, True))
        on += timedelta(days=1)
    con = task_warehouse([unit], {"U1": [("service", date(2025, 12, 31))]}, [HALF_A_YEAR])
    build_facts(con, Window.of(as_of))
    return con.sql("FROM fact.task_due").pl().row(0, named=True)


def test_fourteen_loads_a_weekday_use_up_400_cycles_on_the_29th_day_of_use():
    row = due(14, date(2026, 2, 10), date(2026, 2, 10))

    assert (row["due_on"], row["cycles_since"], row["cycles_overdue"]) == (
        date(2026, 2, 10),
        406,
        6,
    )
    before = due(14, date(2026, 2, 9), date(2026, 2, 9))
    assert (before["cycles_since"], before["cycles_overdue"]) == (392, 0)
    # Eight cycles are left, at 280 in the last 28 days: one more day.
    assert (before["due_on"], before["state"]) == (date(2026, 2, 10), "usual")


@pytest.mark.parametrize("loads_a_day", [1, 2, 3])
def test_few_loads_a_day_leave_the_182_days_to_come_first(loads_a_day):
    row = due(loads_a_day, date(2026, 6, 30), date(2026, 6, 30))

    assert row["due_on"] == date(2026, 7, 1)
    assert row["days_since"] == 181
