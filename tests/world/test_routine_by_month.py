"""Routine tests of invented logs, counted by the month and once more gone through day by day.

A line of the test book from before all cycles says nothing of any of their days, and has each of
them looked at alone.
"""

from datetime import date

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.world.spore_logs import PRACTICES, invented, warehouse

AS_OF = date(2026, 10, 22)
BOOKED = date(2025, 1, 2)
TURNED = date(2026, 4, 9)
STANDING = "SELECT * FROM fact.routine_standing ORDER BY ALL"
PERIODS = (
    "SELECT * EXCLUDE (is_by_month) FROM fact.routine_period "
    "WHERE period_on >= DATE '2025-11-01' ORDER BY ALL"
)


def measured(is_booked: bool):
    """Penetration tests on half of the days, some after the first load; the rules begin anew."""
    units = invented(22, 1090, seed=5)
    for unit in units:
        unit.cycles = [one for one in unit.cycles if BOOKED < one.on <= AS_OF]
        unit.tests = []
        for one in unit.cycles:
            if not one.is_load or one.number % 4 == 1:
                one.program, one.is_load = "test_steam_penetration", False
    con = warehouse(units, PRACTICES)
    for practice in PRACTICES:
        for first, last in (("0001-01-01", TURNED), (TURNED, None)):
            con.execute(
                "INSERT INTO practice.routine_rule BY NAME SELECT ? AS practice, "
                "'steam_penetration' AS test, 'use_day' AS kind, 0 AS grace_days, "
                "'all' AS applies_to, ?::DATE AS valid_from, ?::DATE AS valid_to, "
                "'made up' AS source, 'derived' AS confidence, 'made up' AS declared_by",
                [practice, first, last],
            )
    if is_booked:
        con.execute(
            "INSERT INTO model.test BY NAME SELECT 'booked' AS test_id, unit_serial, site_id, "
            "'steam_penetration' AS kind, 'pass' AS state, ?::DATE AS exposed_on, "
            "exposed_on AS read_on FROM model.assignment",
            [BOOKED],
        )
    build_facts(con, Window.of(AS_OF), ["routine_standing", "routine_period"])
    return con


@pytest.fixture(scope="module")
def both():
    return measured(is_booked=False), measured(is_booked=True)


def test_each_way_is_gone(both):
    by_month, by_day = (
        con.execute("SELECT count(*) FROM fact.routine_month").fetchall()[0][0] for con in both
    )
    assert by_month > 22 * 12
    assert by_day == 0


def test_each_day_is_the_same(both):
    by_month, by_day = (con.execute(PERIODS).fetchall() for con in both)
    assert by_month == by_day
    assert {row[-1] for row in by_month} == {"done", "late", "not_done", "not_seen"}


def test_counts_and_misses_that_go_on_are_the_same(both):
    by_month, by_day = (con.execute(STANDING).fetchall() for con in both)
    assert by_month == by_day
    assert len(by_month) == 22
