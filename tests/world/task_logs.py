"""Maintenance of the invented units, as values and as model tables."""

import random
from datetime import date, timedelta

import duckdb
import polars as pl

from tests.world.dull_spore import Unit
from tests.world.dull_task import TaskRule
from tests.world.spore_logs import CHANGED, FIRST, PRACTICES, warehouse

RULES = [
    TaskRule("chamber_clean", days=7, grace_days=2, is_paused=True),
    TaskRule("deep_clean", days=30, cycles=60, grace_days=7, is_paused=True),
    TaskRule("air_filter", days=182, cycles=400, grace_days=14),
    TaskRule("gasket", cycles=500),
    TaskRule("calibration", days=365, act_now_days=30),
    TaskRule("water_change", days=30, valid_to=CHANGED),
    TaskRule("water_change", days=14, cycles=50, valid_from=CHANGED),
]
Acts = dict[str, list[tuple[str, date]]]


def acts_of(units: list[Unit], days: int, seed: int) -> Acts:
    """What was done and when: mostly in time, now and then late, some tasks never."""
    acts: Acts = {}
    for unit in units:
        rng = random.Random(f"{seed}/{unit.serial}")
        acts[unit.serial] = []
        for task in sorted({rule.task for rule in RULES}):
            if rng.random() < 0.1:
                continue
            usual = next(rule.days for rule in RULES if rule.task == task) or 90
            on = FIRST + timedelta(days=rng.randrange(usual))
            while on < FIRST + timedelta(days=days):
                acts[unit.serial].append((task, on))
                on += timedelta(days=max(1, round(usual * rng.choice((0.6, 0.9, 1, 1.1, 1.8)))))
    return acts


def task_warehouse(
    units: list[Unit], acts: Acts, rules: list[TaskRule] = RULES
) -> duckdb.DuckDBPyConnection:
    """The tables that these logs come to; the same task rules for each practice."""
    con = warehouse(units, PRACTICES)
    practice_of = {unit.serial: unit.practice for unit in units}
    rows = [
        {"unit_serial": serial, "site_id": practice_of[serial], "task": task, "done_on": on,
         "kind": "routine"}
        for serial, done in acts.items()
        for task, on in done
    ]  # fmt: skip
    con.register("given", pl.DataFrame(rows))
    con.execute("INSERT INTO model.task BY NAME FROM given")
    con.unregister("given")
    for practice in PRACTICES:
        for one in rules:
            con.execute(
                "INSERT INTO practice.task_rule BY NAME SELECT ? AS practice, ? AS task, "
                "? AS days, ? AS cycles, ? AS grace_days, ? AS act_now_days, "
                "? AS is_paused_when_closed, 'user' AS who, ?::DATE AS valid_from, "
                "?::DATE AS valid_to, 'made up' AS source, 'derived' AS confidence, "
                "'made up' AS declared_by",
                [
                    practice, one.task, one.days, one.cycles, one.grace_days, one.act_now_days,
                    one.is_paused, one.valid_from,
                    None if one.valid_to == date.max else one.valid_to,
                ],
            )  # fmt: skip
    return con
