"""A small network in which each unit has one thing wrong with it, or nothing.

The as-of day is Saturday 31 October 2026. Units work on weekdays, four load cycles a day, and are
tested and cleaned on Mondays; every 60th cycle of a healthy unit is stopped. What is not said of a
unit below is as it should be.
"""

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import pytest

from pipeline.config.network import Network, Site
from pipeline.practice.profiles import load_profiles, write_profiles
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory
from tests.by_hand import count_cycles

AS_OF = date(2026, 10, 31)
FIRST = date(2025, 1, 6)
SERVICED = date(2026, 3, 2)

UNITS = {
    "GQ-1": "gannet-quay",  # nothing wrong
    "GQ-2": "gannet-quay",  # growth on 20 October, not repeated
    "GQ-3": "gannet-quay",  # no spore test after 12 October
    "TC-1": "tern-cove",  # twelve equipment stops in October
    "TC-2": "tern-cove",  # stops every tenth cycle, and always did
    "TC-3": "tern-cove",  # results awaited since 5 October
    "EI-1": "eider-islet",  # chamber not cleaned since 1 September
    "EI-2": "eider-islet",  # heats up more slowly every week
    "EI-3": "eider-islet",  # cleaned later and later
    "EI-4": "eider-islet",  # its clock an hour ahead since 14 September
    "KR-1": "knot-reach",  # the whole site silent after 9 October
    "KR-2": "knot-reach",
    "PB-1": "plover-bay",  # silent after 14 October, its neighbour is not
    "PB-2": "plover-bay",  # new, four cycles a week
    "ST-1": "stint-tarn",  # site closed in June
}

NOWHERE = Path("nowhere")
QUAY = Site("quay", "Quay", "Outer Banks", "Europe/London", 0, "weekly", FIRST)
NETWORK = Network(
    NOWHERE, "Saltmarsh", True, {"quay": QUAY}, (), (), NOWHERE, NOWHERE, "fingerprint"
)
"""As much of a network as the practice profiles ask of one."""


@pytest.fixture
def network_rows() -> dict[str, pl.DataFrame]:
    """Rows of the registers and the model tables."""
    return {
        "register.site": pl.DataFrame(
            [site(one) for one in sorted({*UNITS.values(), "crake-ness"})]
        ),
        "register.assignment": pl.DataFrame([assignment(unit) for unit in UNITS]),
        "model.cycle": pl.DataFrame([row for unit in UNITS for row in cycles(unit)]),
        "model.test": pl.DataFrame([row for unit in UNITS for row in tests(unit)]),
        "model.task": pl.DataFrame([row for unit in UNITS for row in tasks(unit)]),
    }


@pytest.fixture
def warehouse_of() -> Callable[[dict[str, pl.DataFrame]], duckdb.DuckDBPyConnection]:
    """A warehouse that holds these rows and the weekly profile."""

    def made(rows: dict[str, pl.DataFrame]) -> duckdb.DuckDBPyConnection:
        con = open_memory()
        build.prepare(con)
        for table in ("register.site", "register.assignment"):
            insert(con, table, rows[table])
        build.rebuild_touched(con)
        for table in ("model.cycle", "model.test", "model.task"):
            insert(con, table, rows[table])
        count_cycles(con)
        write_profiles(con, load_profiles(NETWORK))
        return con

    return made


def insert(con: duckdb.DuckDBPyConnection, table: str, rows: pl.DataFrame) -> None:
    con.register("rows_to_insert", rows)
    con.execute(f"INSERT INTO {table} BY NAME FROM rows_to_insert")
    con.unregister("rows_to_insert")


def site(site_id: str) -> dict[str, Any]:
    return {
        "site_id": site_id,
        "name": site_id.replace("-", " ").title(),
        "region": "Outer Banks" if site_id < "j" else "Inner Sound",
        "time_zone": "Europe/London",
        "altitude_m": 0.0,
        "practice": "weekly",
        "opened_on": date(2020, 1, 1),
        "closed_on": date(2026, 6, 15) if site_id == "stint-tarn" else None,
        "owner": "J. Fenn" if site_id == "gannet-quay" else None,
    }


def assignment(unit: str) -> dict[str, Any]:
    return {
        "unit_serial": unit,
        "site_id": UNITS[unit],
        "label": f"Unit {unit[-1]}",
        "air_removal": "prevacuum",
        "from_on": date(2026, 9, 28) if unit == "PB-2" else date(2024, 6, 3),
        "to_on": None,
    }


def last_day(unit: str) -> date:
    silent_from = {
        "KR-1": date(2026, 10, 9),
        "KR-2": date(2026, 10, 9),
        "PB-1": date(2026, 10, 14),
        "ST-1": date(2026, 6, 12),
    }
    return silent_from.get(unit, AS_OF)


def weekdays(unit: str) -> list[date]:
    first = date(2026, 9, 28) if unit == "PB-2" else FIRST
    days = [first + timedelta(days=n) for n in range((last_day(unit) - first).days + 1)]
    return [day for day in days if day.weekday() < (1 if unit == "PB-2" else 5)]


def is_stopped(unit: str, number: int, day: date) -> bool:
    if unit == "TC-1" and date(2026, 10, 5) <= day <= date(2026, 10, 30):
        return number % 7 == 0
    return number % (10 if unit == "TC-2" else 60) == 0


def cycles(unit: str) -> list[dict[str, Any]]:
    rows = []
    for day in weekdays(unit):
        for hour in (9, 10, 11, 12):
            number = 1001 + len(rows)
            started = datetime.combine(day, time(hour))
            if unit == "EI-4" and day >= date(2026, 9, 14):
                started += timedelta(hours=1)
            stopped = is_stopped(unit, number, day)
            weeks = max(0, (day - SERVICED).days // 7)
            rows.append(
                {
                    "cycle_id": f"{unit}-{number}",
                    "unit_serial": unit,
                    "site_id": UNITS[unit],
                    "cycle_number": number,
                    "program": "pouch",
                    "is_load_cycle": True,
                    "is_false_start": False,
                    "started_local": started,
                    "started_utc": started,
                    "started_on": day,
                    "week_on": day - timedelta(days=day.weekday()),
                    "month": day.replace(day=1),
                    "outcome": "stopped" if stopped else "complete",
                    "is_stopped": stopped,
                    "stop_reason": "heat_up_timeout" if stopped else None,
                    "stop_family": "equipment" if stopped else None,
                    "heat_up_seconds": 600.0 + number % 11 + (4 * weeks if unit == "EI-2" else 0),
                }
            )
    return rows


def tests(unit: str) -> list[dict[str, Any]]:
    rows = []
    for day in weekdays(unit):
        if day.weekday() != 0 or (unit == "GQ-3" and day > date(2026, 10, 12)):
            continue
        is_pending = unit == "TC-3" and day >= date(2026, 10, 5)
        rows.append(spore_test(unit, day, "pending" if is_pending else "valid_negative"))
    if unit == "GQ-2":
        rows = [row for row in rows if row["exposed_on"] < date(2026, 10, 20)]
        rows.append(spore_test(unit, date(2026, 10, 20), "growth"))
    return rows


def spore_test(unit: str, day: date, state: str) -> dict[str, Any]:
    return {
        "test_id": f"{unit}-{day}",
        "unit_serial": unit,
        "site_id": UNITS[unit],
        "kind": "biological",
        "exposed_on": day,
        "exposed_utc": datetime.combine(day, time(9)),
        "week_on": day - timedelta(days=day.weekday()),
        "read_on": None if state == "pending" else day + timedelta(days=1),
        "state": state,
    }


def tasks(unit: str) -> list[dict[str, Any]]:
    rows = [
        task(unit, name, SERVICED, "service" if name == "service" else "routine")
        for name in ("service", "calibration", "validation", "gasket_replace", "air_filter_replace")
    ]
    rows.append(task(unit, "air_filter_replace", date(2026, 7, 6), "routine"))
    mondays = [day for day in weekdays(unit) if day.weekday() == 0]
    rows += [task(unit, "deep_clean", day, "routine") for day in mondays[::4]]
    weekly = later_and_later() if unit == "EI-3" else mondays
    rows += [task(unit, "reservoir_refill", day, "routine") for day in weekly]
    if unit == "EI-1":
        weekly = [day for day in weekly if day <= date(2026, 9, 1)]
    return rows + [task(unit, "chamber_clean", day, "routine") for day in weekly]


def later_and_later() -> list[date]:
    days, day = [], date(2025, 10, 6)
    while day <= AS_OF:
        days.append(day)
        day += timedelta(days=7 + len(days) // 6)
    return days


def task(unit: str, name: str, day: date, kind: str) -> dict[str, Any]:
    return {
        "unit_serial": unit,
        "site_id": UNITS[unit],
        "task": name,
        "done_on": day,
        "kind": kind,
    }
