"""Invented units under every kind of rule on spore tests, as values and as model tables."""

import random
from datetime import date, datetime, timedelta

import duckdb
import polars as pl

from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.statements import create
from tests.by_hand import count_cycles
from tests.world.dull_spore import DAY, Cycle, SporeTest, Unit, Version

FIRST = date(2023, 11, 6)
CHANGED = date(2026, 3, 1)
PRACTICES: dict[str, list[Version]] = {
    "weekly": [Version("interval_days", days=7)],
    "patient": [Version("interval_days", days=7, grace_days=2, is_paused=True)],
    "week": [Version("calendar_week")],
    "sunday": [Version("calendar_week", week_starts=7, grace_days=1)],
    "daily": [Version("use_day", is_per_program=True)],
    "minutes": [Version("minutes_or_days", days=30, minutes=2400)],
    "cycles": [Version("days_or_cycles", days=182, cycles=400, grace_days=3)],
    "few": [Version("days_or_cycles", days=60, cycles=90)],
    "busy": [Version("days_by_use", days=60, busy_days=14, busy_cycles=110)],
    "tightened": [
        Version("interval_days", days=30, valid_to=CHANGED),
        Version("interval_days", days=7, valid_from=CHANGED),
    ],
    "turned": [
        Version("calendar_week", valid_to=CHANGED),
        Version("minutes_or_days", days=30, minutes=2400, valid_from=CHANGED),
    ],
    "freed": [
        Version("interval_days", days=7, grace_days=1, valid_to=CHANGED),
        Version("not_asked", valid_from=CHANGED),
    ],
    "regular": [
        Version("minutes_or_days", days=10, minutes=600, valid_to=CHANGED),
        Version("calendar_week", valid_from=CHANGED),
    ],
    "none": [Version("not_asked")],
}
PROGRAMS = ("pouch", "wrapped_134", "unwrapped_134")
STATES = ("valid_negative",) * 14 + (
    "growth", "invalid_control", "no_control", "early_read", "expired_lot", "contaminated", "lost",
    "pending",
)  # fmt: skip


def invented(count: int, days: int, seed: int) -> list[Unit]:
    """So many units with their logs from FIRST on, practices in turn."""
    names = sorted(PRACTICES)
    return [
        _unit(f"U{place:03}", names[place % len(names)], days, random.Random(f"{seed}/{place}"))
        for place in range(count)
    ]


def _unit(serial: str, practice: str, days: int, rng: random.Random) -> Unit:
    unit = Unit(serial, practice)
    number, habit = rng.randrange(100, 9000), rng.choice((3, 5, 6, 8, 12))
    idle_until = FIRST
    next_test = FIRST + rng.randrange(9) * DAY
    # What was overdue when the rule changed can only be told of a unit that was not tested since.
    last_test = CHANGED - rng.randrange(40) * DAY if len(PRACTICES[practice]) > 1 else date.max
    for place in range(days):
        on = FIRST + place * DAY
        if on >= idle_until and rng.random() < 0.006:
            idle_until = on + rng.randrange(4, 30) * DAY
            if rng.random() < 0.5:
                unit.closed |= {on + n * DAY for n in range((idle_until - on).days)}
        if on < idle_until or on.isoweekday() == 7 or rng.random() < 0.1:
            continue
        run = []
        for turn in range(rng.randrange(1, 5)):
            number += 1 if rng.random() < 0.985 else rng.randrange(2, 5)
            started = datetime(on.year, on.month, on.day, 8) + turn * timedelta(minutes=97)
            is_load = rng.random() < 0.95
            program = rng.choice(PROGRAMS) if is_load else "test_leak"
            seconds = rng.randrange(1500, 3300) if rng.random() < 0.97 else None
            kind = "implants" if is_load and rng.random() < 0.01 else "instruments"
            run.append(Cycle(number, started, program, seconds, is_load, kind))
        unit.cycles += run
        loads = [one for one in run if one.is_load]
        is_daily = practice == "daily"
        for cycle in loads:
            is_due = rng.random() < 0.9 if is_daily else on >= next_test and cycle is loads[0]
            is_due = is_due and (on < last_test or habit > 6)
            if is_due:
                unit.tests.append(_test(unit, cycle, rng))
                next_test = on + rng.choice((habit, habit, habit, 2 * habit)) * DAY
    return unit


def _test(unit: Unit, cycle: Cycle, rng: random.Random) -> SporeTest:
    state = rng.choice(STATES)
    read_on = cycle.on + rng.choice((1, 1, 2, 9)) * DAY
    is_read = state not in ("pending", "lost")
    return SporeTest(f"T{len(unit.tests)}", cycle, state, read_on if is_read else None)


def warehouse(units: list[Unit], practices: dict[str, list[Version]]) -> duckdb.DuckDBPyConnection:
    """The model and practice tables that these logs come to, rows in the order given."""
    con = open_memory()
    build.prepare(con)
    build.rebuild_touched(con)
    create(con, "practice")
    for name, versions in practices.items():
        con.execute(
            "INSERT INTO model.site BY NAME SELECT ? AS site_id, ? AS name, 'Levels' AS region, "
            "'levels' AS region_id, 'UTC' AS time_zone, 0 AS altitude_m, ? AS practice, "
            "DATE '2020-01-01' AS opened_on",
            [name, name, name],
        )
        for one in versions:
            con.execute(
                "INSERT INTO practice.spore_rule BY NAME SELECT ? AS practice, 'routine' AS rule, "
                "? AS kind, ? AS days, ? AS cycles, ? AS minutes, ? AS week_starts, "
                "? AS busy_days, ? AS busy_cycles, ? AS is_per_program, ? AS grace_days, "
                "14 AS result_days, ? AS is_paused_when_closed, "
                "?::DATE AS valid_from, ?::DATE AS valid_to, "
                "'made up' AS source, 'derived' AS confidence, 'made up' AS declared_by",
                [
                    name, one.kind, one.days, one.cycles, one.minutes, one.week_starts,
                    one.busy_days, one.busy_cycles,
                    one.is_per_program, one.grace_days, one.is_paused, one.valid_from,
                    None if one.valid_to == date.max else one.valid_to,
                ],
            )  # fmt: skip
    fill(con, units)
    return con


def fill(con: duckdb.DuckDBPyConnection, units: list[Unit]) -> None:
    """Put the units, their cycles, tests and closures into the model tables."""
    _insert(
        con,
        "assignment",
        [
            {"unit_serial": u.serial, "site_id": u.practice, "label": u.serial,
             "air_removal": "prevacuum", "from_on": date(2020, 1, 1)}
            for u in units
        ],
    )  # fmt: skip
    con.execute("INSERT INTO model.unit BY NAME FROM model.assignment")
    _insert(con, "cycle", [_cycle_row(u, c) for u in units for c in u.cycles])
    _insert(con, "test", [_test_row(u, t) for u in units for t in u.tests])
    _insert(
        con,
        "closure",
        [
            {"site_id": u.practice, "unit_serial": u.serial, "from_on": on, "to_on": on}
            for u in units
            for on in sorted(u.closed)
        ],
    )
    count_cycles(con)


def cycle_id(unit: Unit, cycle: Cycle) -> str:
    return f"{unit.serial}-{cycle.number}"


def _cycle_row(unit: Unit, cycle: Cycle) -> dict[str, object]:
    return {
        "cycle_id": cycle_id(unit, cycle), "unit_serial": unit.serial, "site_id": unit.practice,
        "cycle_number": cycle.number, "program": cycle.program, "is_load_cycle": cycle.is_load,
        "is_false_start": False, "started_local": cycle.started, "started_utc": cycle.started,
        "started_on": cycle.on, "week_on": cycle.on - (cycle.on.isoweekday() - 1) * DAY,
        "month": cycle.on.replace(day=1), "outcome": "complete", "is_stopped": False,
        "duration_seconds": cycle.seconds, "load_kind": cycle.load_kind,
        "load_id": f"L{cycle.number}",
    }  # fmt: skip


def _test_row(unit: Unit, test: SporeTest) -> dict[str, object]:
    return {
        "test_id": test.test_id, "unit_serial": unit.serial, "site_id": unit.practice,
        "kind": "biological", "purpose": "routine", "cycle_number": test.cycle.number,
        "cycle_id": cycle_id(unit, test.cycle), "exposed_local": test.cycle.started,
        "exposed_utc": test.cycle.started, "exposed_on": test.on,
        "week_on": test.on - (test.on.isoweekday() - 1) * DAY, "read_on": test.read_on,
        "state": test.state,
    }  # fmt: skip


def _insert(con: duckdb.DuckDBPyConnection, table: str, rows: list[dict[str, object]]) -> None:
    if rows:
        con.register("given", pl.DataFrame(rows, infer_schema_length=None))
        con.execute(f"INSERT INTO model.{table} BY NAME FROM given")
        con.unregister("given")
