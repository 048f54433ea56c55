"""Leak tests of invented logs, a day or week at a time, against loops that know no statement."""

import copy
import itertools
import random
from collections import Counter, defaultdict
from datetime import date, datetime, timedelta

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.world.dull_spore import DAY, Unit, week_of
from tests.world.spore_logs import PRACTICES, invented, warehouse

AS_OF = date(2026, 10, 22)
WEEK = timedelta(days=7)
KINDS = [("use_day", None, 1, 0), ("calendar_week", None, 1, 0), ("calendar_week", None, 7, 2),
         ("interval_days", 10, 1, 1)]  # fmt: skip
RULES = dict(zip(sorted(PRACTICES), itertools.cycle(KINDS), strict=False))
PERIODS = "SELECT unit_serial, period_on, run_count, state FROM fact.routine_period ORDER BY ALL"


@pytest.fixture(scope="module")
def units():
    units = invented(48, 1090, seed=3)
    for place, unit in enumerate(units):
        if place // len(KINDS) % 3 == 0:
            # Evenings that go past midnight.
            for one in unit.cycles:
                one.started += timedelta(hours=14, minutes=30)
        unit.cycles = [one for one in unit.cycles if date(2025, 11, 1) <= one.on <= AS_OF]
        unit.tests = []
    return units


def measured(units: list[Unit], booked: tuple[tuple[Unit, date], ...] = (), as_of: date = AS_OF):
    con = warehouse(units, PRACTICES)
    for unit, on in booked:
        con.execute(
            "INSERT INTO model.test BY NAME SELECT 'booked' AS test_id, ? AS unit_serial, "
            "? AS site_id, 'leak' AS kind, 'pass' AS state, ?::DATE AS exposed_on, "
            "exposed_on AS read_on",
            [unit.serial, unit.practice, on],
        )
    for practice, (kind, days, starts, grace) in RULES.items():
        con.execute(
            "INSERT INTO practice.routine_rule BY NAME SELECT ? AS practice, 'leak' AS test, "
            "? AS kind, ? AS days, ? AS week_starts, ? AS grace_days, 'all' AS applies_to, "
            "DATE '0001-01-01' AS valid_from, 'made up' AS source, 'derived' AS confidence, "
            "'made up' AS declared_by",
            [practice, kind, days, starts, grace],
        )
    build_facts(con, Window.of(as_of))
    return con


def days_of_use(unit: Unit) -> list[date]:
    """The day of each load: that of the evening before while it goes on, until four at most."""
    days: list[date] = []
    before = datetime.min
    for one in (one for one in unit.cycles if one.is_load):
        goes_on = one.started.hour < 4 and one.started - before < timedelta(hours=4)
        days.append(days[-1] if goes_on and days[-1] < one.on else one.on)
        before = one.started
    return days


def dull(unit: Unit) -> dict[date, tuple[int, str]]:
    """Loads and the state of each day or week of use."""
    kind, days, starts, grace = RULES[unit.practice]
    tested = {one.on for one in unit.cycles if one.program == "test_leak"}
    loads = Counter(days_of_use(unit))
    # A number that was skipped between two days may have run on either.
    unseen = defaultdict(int)
    for one, other in itertools.pairwise(unit.cycles):
        for on in {one.on, other.on}:
            unseen[on] += other.number - one.number - 1
    spans = defaultdict(list)
    for on in sorted({one.on for one in unit.cycles}):
        spans[week_of(on, starts) if kind == "calendar_week" else on].append(on)
    told = {}
    for first, used in spans.items():
        last = first + 6 * DAY if kind == "calendar_week" else first
        before = (days or 0) + grace if kind == "interval_days" else 0
        after = 0 if kind == "interval_days" else grace
        window = {first - n * DAY for n in range(before + 1)}
        window |= {first + n * DAY for n in range((last - first).days + after + 1)}
        count = sum(loads[on] for on in used)
        if not count:
            continue
        if window & tested:
            state = "done"
        elif last > AS_OF:
            state = "open"
        else:
            state = "not_seen" if sum(unseen[on] for on in used) else "not_done"
        told[first] = (count, state)
    return told


def test_every_day_and_week_is_that_of_the_loops(units):
    found = defaultdict(dict)
    for serial, on, *told in measured(units).execute(PERIODS).fetchall():
        found[serial][on] = tuple(told)
    seen = set()
    for unit in units:
        expected = dull(unit)
        assert found[unit.serial].keys() == expected.keys()
        for on, told in expected.items():
            assert found[unit.serial][on] == told, (unit.serial, RULES[unit.practice], on)
            seen.add((RULES[unit.practice], told[1]))
    for rule in KINDS:
        assert {state for kind, state in seen if kind == rule} >= {"done", "not_done", "not_seen"}
    assert (KINDS[1], "open") in seen


def test_evenings_go_past_midnight_here(units):
    late = [one for unit in units for one in unit.cycles if one.is_load and one.started.hour < 4]
    moved = sum(
        day < one.on
        for unit in units
        for day, one in zip(days_of_use(unit), (c for c in unit.cycles if c.is_load), strict=True)
    )
    assert 0 < moved < len(late)


def test_everything_a_week_later_is_asked_for_a_week_later(units):
    moved = copy.deepcopy(units)
    for unit in moved:
        unit.closed = {on + WEEK for on in unit.closed}
        for one in unit.cycles:
            one.started += WEEK
    before = measured(units).execute(PERIODS).fetchall()
    after = measured(moved, as_of=AS_OF + WEEK).execute(PERIODS).fetchall()
    assert after == [(serial, on + WEEK, *told) for serial, on, *told in before]


def test_a_day_of_the_past_gives_what_had_happened_by_then(units):
    then = date(2026, 5, 13)
    known = copy.deepcopy(units)
    for unit in known:
        unit.cycles = [one for one in unit.cycles if one.on <= then]
        unit.closed = {on for on in unit.closed if on <= then}
    before = measured(known, as_of=then).execute(PERIODS).fetchall()
    assert measured(units, as_of=then).execute(PERIODS).fetchall() == before
    assert before


def test_the_order_in_which_lines_arrive_does_not_matter_and_a_test_more_misses_nothing_more(units):
    before = measured(units).execute(PERIODS).fetchall()
    rng, more = random.Random(3), copy.deepcopy(units)
    rng.shuffle(more)
    for unit in more:
        rng.shuffle(unit.cycles)
    assert measured(more).execute(PERIODS).fetchall() == before

    booked = tuple((unit, rng.choice(unit.cycles).on) for unit in units)
    missed = {row[:2] for row in before if row[3] == "not_done"}
    after = measured(units, booked).execute(PERIODS).fetchall()
    assert {row[:2] for row in after if row[3] == "not_done"} < missed
