"""Maintenance that is done later and later, of the acts that a night goes through and of all acts.

Both tell the same habits, and the same first days of them.
"""

import random
from datetime import date, timedelta

import polars as pl
import pytest

from pipeline.measure.findings.upkeep import habit_findings
from pipeline.measure.habit import habit_rows, read_intervals
from pipeline.measure.tables import build_fact, build_facts, prepare_results, write
from pipeline.measure.window import Window
from pipeline.warehouse.statements import statement
from tests.world.spore_logs import FIRST, invented
from tests.world.task_logs import task_warehouse

AS_OF = date(2026, 10, 24)
TASKS = {"chamber_clean": 7, "deep_clean": 30, "water_change": 30}


def acts_of(serial: str, kind: int) -> list[tuple[str, date]]:
    """Four kinds of unit: later and later since long or since lately, as ever, and given up."""
    rng = random.Random(serial)
    acts = []
    for task, days in TASKS.items():
        on = FIRST + timedelta(days=rng.randrange(days))
        while on <= AS_OF:
            acts.append((task, on))
            age = (on - FIRST).days
            share = {
                0: 0.8 + age / 900,
                1: 0.9 if age < 800 else 0.9 + (age - 800) / 150,
                2: rng.choice((0.7, 1, 1.4)),
                3: 1 if age < 400 else 9,
            }[kind]
            on += timedelta(days=max(1, round(days * share * rng.choice((0.9, 1, 1.1)))))
    return acts


@pytest.fixture(scope="module")
def con():
    units = invented(33, 1083, seed=8)
    acts = {unit.serial: acts_of(unit.serial, place % 4) for place, unit in enumerate(units)}
    acts[units[0].serial] = []
    con = task_warehouse(units, acts)
    build_facts(con, Window.of(AS_OF))
    return con


def told(con) -> tuple[pl.DataFrame, list]:
    window = Window.of(AS_OF)
    prepare_results(con)
    intervals = read_intervals(con)
    rows = habit_rows(con, window, intervals)
    write(con, "habit", rows)
    return rows, habit_findings(con, window, intervals)


def test_habits_and_their_beginnings_are_those_of_all_acts(con):
    rows, findings = told(con)
    window = Window.of(AS_OF)
    for name in ("wear_month", "task_act"):
        build_fact(con, statement("fact", name), window)
    few = con.execute("SELECT count(*) FROM fact.task_act").fetchall()[0][0]
    con.execute("DROP TABLE fact.task_act")
    con.execute("DROP TABLE fact.task_interval")
    con.execute(
        "CREATE TABLE fact.task_act AS SELECT unit_serial, site_id, task, done_on, counter, "
        "FROM model.task WHERE done_on BETWEEN ? AND ?",
        [window.history_on, AS_OF],
    )
    build_fact(con, statement("fact", "task_interval"), window)
    all_rows, all_findings = told(con)

    assert rows.equals(all_rows)
    assert findings == all_findings
    assert few < con.execute("SELECT count(*) FROM fact.task_act").fetchall()[0][0]
    assert set(rows["state"]) == {"look_into", "usual", "too_few"}
    year_before = date(2025, 10, 1)
    assert {one.since_on < year_before for one in findings} == {True, False}
