"""Due dates, weeks and lookbacks of invented logs, against the dull loops beside this file."""

from datetime import date

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.world import dull_spore as dull
from tests.world.dull_weeks import lookbacks, weekly_states
from tests.world.spore_logs import PRACTICES, PROGRAMS, cycle_id, invented, warehouse

AS_OF = date(2026, 10, 31)


@pytest.fixture(scope="module")
def units():
    return invented(294, 1090, seed=13)


@pytest.fixture(scope="module")
def con(units):
    con = warehouse(units, PRACTICES)
    build_facts(con, Window.of(AS_OF))
    return con


def seen(units: list[dull.Unit]) -> list[dull.Unit]:
    """The units as the window sees them: nothing before its history, no closed day to come."""
    first = Window.of(AS_OF).history_on
    for unit in units:
        unit.cycles = [one for one in unit.cycles if one.on >= first]
        unit.tests = [one for one in unit.tests if one.on >= first]
        unit.closed = {on for on in unit.closed if on <= AS_OF}
    return units


def test_every_due_date_is_that_of_the_dull_loops(units, con):
    found = {
        row[:2]: row[2:]
        for row in con.execute(
            "SELECT unit_serial, program, CASE WHEN NOT is_forecast THEN due_on END, is_overdue, "
            "days_overdue, cycles_while_overdue, kind FROM fact.spore_duty"
        ).fetchall()
    }
    kinds = set()
    for unit in seen(units):
        versions = PRACTICES[unit.practice]
        for program in PROGRAMS if versions[-1].is_per_program else ("all",):
            expected = dull.duty(unit, versions, program, AS_OF)
            due_on, *late, kind = found[unit.serial, program]
            kinds.add((kind, expected.is_overdue))
            where = f"{unit.serial}, {unit.practice}, {program}"
            assert late == [
                expected.is_overdue, expected.days_overdue, expected.late_cycles
            ], where  # fmt: skip
            assert due_on in (None, expected.due_on), where
            assert due_on or versions[-1].kind in (*dull.METERED, "not_asked"), where
    asked = {version.kind for versions in PRACTICES.values() for version in versions}
    assert kinds >= {(kind, late) for kind in asked - {"not_asked"} for late in (True, False)}


def test_every_week_is_that_of_the_dull_loops(units, con):
    window = Window.of(AS_OF)
    states = set()
    for unit in seen(units):
        if unit.practice not in ("weekly", "patient", "week", "sunday"):
            continue
        starts = PRACTICES[unit.practice][0].week_starts
        found = dict(
            con.execute(
                "SELECT week_on, state FROM fact.spore_week WHERE unit_serial = ? "
                "AND state <> 'not_seen' ORDER BY week_on",
                [unit.serial],
            ).fetchall()
        )
        expected = weekly_states(unit, starts, window.from_on, AS_OF)
        unseen = expected.keys() - found.keys()
        assert all(expected[week] == "not_in_use" for week in unseen), unit.serial
        for week in expected.keys() & found.keys():
            assert found[week] == expected[week], f"{unit.serial}, {unit.practice}, {week}"
        states |= set(found.values())
    assert states >= {"on_time", "late", "not_done", "growth", "invalid", "pending", "not_in_use"}


def test_every_lookback_is_that_of_the_dull_loops(units, con):
    found = {
        (serial, growth_on): set(ids)
        for serial, growth_on, ids in con.execute(
            "SELECT unit_serial, growth_on, list(cycle_id) FROM fact.lookback GROUP BY ALL"
        ).fetchall()
    }
    expected = {
        (unit.serial, on): {f"{unit.serial}-{number}" for number in numbers}
        for unit in seen(units)
        for on, numbers in lookbacks(unit, AS_OF).items()
    }

    from_on = Window.of(AS_OF).from_on
    of_the_year = {key: ids for key, ids in expected.items() if ids and key[1] >= from_on}
    assert len(of_the_year) > 100
    assert {key: ids for key, ids in found.items() if key[1] >= from_on} == of_the_year
    # Those before are kept while no valid negative has ended them.
    assert all(ids == expected[key] for key, ids in found.items())
    assert cycle_id(units[0], units[0].cycles[0]).startswith("U000-")
