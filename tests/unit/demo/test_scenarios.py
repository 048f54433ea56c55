"""What is bound to happen, looked for in the logs and registers as a reader of them would."""

import csv
import io
from datetime import date, timedelta

import polars as pl
import pytest

from pipeline.demo.faults import REASONS
from pipeline.demo.scenario import SCENARIOS, Kind
from pipeline.demo.tell import tell
from pipeline.demo.unit import units_of
from pipeline.demo.window import Window

ENDS_ON = date(2026, 10, 31)
WINDOW = Window.of_months(ENDS_ON, 18)
EQUIPMENT = [reason.name for reason in REASONS if reason.family == "equipment"]


def unit_bound_to(kind, component=None):
    """The story of the first unit that this is bound to happen to, with the default seed."""
    row = next(one for one in SCENARIOS if one.kind is kind and component in (None, one.component))
    units = units_of(row.position, 24, WINDOW)
    unit = next(one for one in units if kind in one.bound and one.slot == row.slot)
    return row, tell(2026, unit, WINDOW)


def register(folder, name):
    return list(csv.DictReader(io.StringIO((folder / name).read_text(encoding="utf-8"))))


def test_every_unit_of_the_table_exists():
    for row in SCENARIOS:
        slots = [unit.slot for unit in units_of(row.position, 24, WINDOW)]
        assert row.slot == 0 or row.slot in slots, row


@pytest.mark.parametrize("component", ["gasket", "heater", "pump"])
def test_a_failing_unit_stops_far_more_often_in_the_last_weeks(component):
    row, told = unit_bound_to(Kind.WEARS, component)
    assert row.level > 1
    is_recent = told.cycles["started"].dt.date() > ENDS_ON - timedelta(days=28)
    is_equipment = told.cycles["stop_reason"].is_in(EQUIPMENT).fill_null(False)
    assert is_equipment.filter(is_recent).mean() > 0.08
    assert is_equipment.filter(~is_recent).mean() < 0.04


# Each drifting part with the logged value that tells of it, and the least that it must have moved
# from the first six months to the last two weeks, in its own unit.
@pytest.mark.parametrize(
    ("position", "slot", "column", "program", "moved_by"),
    [
        (3, 3, "heat_up_seconds", "wrapped_134", 60),
        (0, 1, "air_removal_min_kpa", "wrapped_134", 3),
        (12, 2, "drying_seconds", "wrapped_134", 100),
        (8, 4, "hold_min_celsius", "wrapped_134", 0.5),
        (20, 1, "leak_kpa_per_minute", "test_leak", 0.015),
    ],
)
def test_a_drifting_unit_shows_it_in_what_it_logs(position, slot, column, program, moved_by):
    unit = next(one for one in units_of(position, 24, WINDOW) if one.slot == slot)
    cycles = tell(2026, unit, WINDOW).cycles.filter(
        (pl.col("program") == program) & (pl.col("outcome") == "complete")
    )
    day = cycles["started"].dt.date()
    early = cycles.filter(day < date(2025, 11, 1))[column].median()
    late = cycles.filter(day > ENDS_ON - timedelta(days=14))[column].median()
    assert abs(late - early) > moved_by


def test_growth_that_nobody_repeats_is_the_last_test_of_its_unit():
    row, told = unit_bound_to(Kind.GROWS)
    last = told.book.tests[-1][1]
    assert last.result == "growth"
    assert (ENDS_ON - last.exposed.date()).days <= row.since_days


def test_growth_that_is_repeated_is_followed_by_a_valid_negative():
    _, told = unit_bound_to(Kind.GROWS_CLEARED)
    tests = [test for _, test in told.book.tests]
    at = max(place for place, test in enumerate(tests) if test.result == "growth")
    repeat = tests[at + 1]
    assert (repeat.purpose, repeat.result, repeat.control_result) == (
        "repeat",
        "no_growth",
        "growth",
    )


def test_a_forgotten_unit_runs_on_without_a_test():
    row, told = unit_bound_to(Kind.FORGETS)
    last_test = told.book.tests[-1][1].exposed.date()
    assert (ENDS_ON - last_test).days >= row.since_days
    assert (ENDS_ON - told.cycles["started"].max().date()).days <= 2


def test_a_unit_that_moves_has_two_rows_and_logs_at_both_sites(whole_block):
    folder, _ = whole_block
    rows = register(folder, "units.csv")
    serials = [row["unit_serial"] for row in rows]
    moved = [row for row in rows if serials.count(row["unit_serial"]) == 2]
    assert [row["site_id"] for row in moved] == ["gannet-drift", "thrift-haven"]
    assert moved[0]["to_on"] == moved[1]["from_on"]


def test_a_loaner_and_a_retired_unit_are_in_the_register(whole_block):
    folder, _ = whole_block
    rows = {row["unit_serial"]: row for row in register(folder, "units.csv")}
    assert rows["SI-9001"]["from_on"] == "2026-10-07"
    assert rows["SI-7001"]["to_on"] != ""


def test_a_loaner_is_tested_before_it_is_trusted():
    _, told = unit_bound_to(Kind.LENT)
    purposes = [test.purpose for _, test in told.book.tests]
    assert purposes[:3] == ["requalification"] * 3


def test_the_silent_site_sends_nothing_after_its_day(whole_block):
    folder, _ = whole_block
    text = "".join(
        path.read_text(encoding="utf-8")
        for path in (folder / "logs" / "curlew-sound").glob("cycles-*.csv")
    )
    assert "2026-10-16T" in text
    assert "2026-10-19T" not in text


def test_the_wrong_clock_is_an_hour_fast_and_the_counter_starts_again_at_one():
    row, told = unit_bound_to(Kind.CLOCK)
    ahead = (told.cycles["started"] - told.cycles["_started_utc"]).dt.total_hours()
    assert ahead.unique().sort().to_list() == [0, 1]
    first = told.cycles.filter(ahead == 1)["_started_utc"].dt.date().min()
    assert 0 <= (first - (ENDS_ON - timedelta(days=row.since_days))).days <= 3
    _, told = unit_bound_to(Kind.RESET)
    steps = told.cycles["cycle_number"].diff().drop_nulls()
    assert (steps < 0).sum() == 1
    assert told.cycles["cycle_number"].filter(told.cycles["cycle_number"] == 1).len() == 1


def test_the_little_site_runs_fewer_than_100_loads_in_a_year():
    unit = units_of(16, 24, WINDOW)[0]
    cycles = tell(2026, unit, WINDOW).cycles
    year = cycles.filter(pl.col("started").dt.date() > date(2025, 10, 31))
    assert 20 < year["load_kind"].is_not_null().sum() < 100
