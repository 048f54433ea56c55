"""When spore tests are due, by worked cases of published rules; each reads like a log book.

A line of a book: the day, how many loads of how many minutes, and what was exposed in the last of
them. How well each source is known stands beside it: read, reported by others, or worked out here.
"""

from datetime import date, datetime, timedelta

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.world.dull_spore import Cycle, SporeTest, Unit, Version
from tests.world.spore_logs import warehouse

WEEKLY = Version("interval_days", days=7)
CALENDAR_WEEK = Version("calendar_week")
FLORIDA = Version("minutes_or_days", days=30, minutes=2400)
GERMANY = Version("days_or_cycles", days=182, cycles=400)
DENMARK = Version("days_by_use", days=91, busy_days=30, busy_cycles=200)
ONTARIO = Version("use_day", is_per_program=True)
STATES = {"clear": "valid_negative", "growth": "growth", "dead control": "invalid_control"}


def book(text: str) -> Unit:
    """A unit with the loads and tests of a log book."""
    unit, number = Unit("U1", "rule"), 0
    for line in text.strip().splitlines():
        on, loads, minutes, *tested = line.split(maxsplit=3)
        first = datetime.fromisoformat(on)
        for turn in range(int(loads)):
            number += 1
            started = first + timedelta(minutes=1 + turn * 5)
            unit.cycles.append(Cycle(number, started, "pouch", int(minutes) * 60, True))
        if tested:
            cycle = unit.cycles[-1]
            unit.tests.append(SporeTest(f"T{number}", cycle, STATES[tested[0]], cycle.on))
    return unit


def duty(rule: Version, unit: Unit, as_of: str) -> dict[str, object]:
    """The one row of fact.spore_duty."""
    con = warehouse([unit], {"rule": [rule]})
    build_facts(con, Window.of(date.fromisoformat(as_of)))
    return con.sql("FROM fact.spore_duty").pl().row(0, named=True)


TWO_TESTS = """
2025-06-02  3  40  clear
2025-06-04  3  40
2025-06-09  3  40
2025-06-10  3  40
2025-06-13  3  40  clear
"""
TO_THE_10TH = "\n".join(TWO_TESTS.strip().splitlines()[:4])


def test_a_calendar_week_allows_eleven_days_between_a_monday_and_a_friday():
    """Oregon Admin. Rule 818-012-0040(2), read: each calendar week in which patients are seen."""
    row = duty(CALENDAR_WEEK, book(TWO_TESTS), "2025-06-13")

    assert (row["is_overdue"], row["due_on"]) == (False, date(2025, 6, 22))
    assert not duty(CALENDAR_WEEK, book(TO_THE_10TH), "2025-06-10")["is_overdue"]


def test_seven_days_do_not():
    """At least weekly (CDC, MMWR 52(RR-17), 2003, read) as an interval: due on the 9th."""
    unit = book(TO_THE_10TH)
    row = duty(WEEKLY, unit, "2025-06-10")

    assert (row["due_on"], row["is_overdue"]) == (date(2025, 6, 9), True)
    assert (row["days_overdue"], row["cycles_while_overdue"]) == (1, 3)
    assert not duty(WEEKLY, unit, "2025-06-09")["is_overdue"]


def test_a_week_without_patients_asks_for_no_test():
    """Oregon Admin. Rule 818-012-0040(2), read: only weeks in which patients are treated."""
    unit = book("2025-06-02  3  40  clear\n2025-06-16  3  40")

    row = duty(CALENDAR_WEEK, unit, "2025-06-16")
    assert (row["is_overdue"], row["due_on"]) == (False, date(2025, 6, 22))
    assert duty(CALENDAR_WEEK, unit, "2025-06-23")["is_overdue"]


@pytest.mark.parametrize(
    ("minutes", "allowed"),
    [(20, 120), (25, 96), (30, 80), (40, 60), (45, 53), (50, 48), (60, 40), (90, 26)],
)
def test_forty_hours_of_use_in_cycles(minutes, allowed):
    """Every 40 hours of use or 30 days: Florida rule 59Q-25.003(9), reported; cycles worked out."""
    within = book(f"2025-06-02 1 {minutes} clear\n2025-06-03 {allowed} {minutes}")
    beyond = book(f"2025-06-02 1 {minutes} clear\n2025-06-03 {allowed + 1} {minutes}")

    assert not duty(FLORIDA, within, "2025-06-03")["is_overdue"]
    row = duty(FLORIDA, beyond, "2025-06-03")
    assert (row["is_overdue"], row["cycles_while_overdue"], row["used_seconds"]) == (
        True, 1, (allowed + 1) * minutes * 60
    )  # fmt: skip


def test_thirty_days_when_the_hours_are_not_used():
    """The other half of the same rule: the days come first for a unit that is little used."""
    unit = book("2025-06-02 1 30 clear\n2025-07-03 1 30")

    row = duty(FLORIDA, unit, "2025-07-03")
    assert (row["due_on"], row["days_overdue"]) == (date(2025, 7, 2), 1)


def test_four_hundred_cycles_come_before_half_a_year():
    """Half a year or 400 cycles, German advice as reported by a laboratory; the day worked out.

    Fourteen loads on each day from Monday to Friday from 1 January 2026, tested before: 406 have
    run on the 29th day of use, 10 February.
    """
    days = [date(2026, 1, 1) + timedelta(days=n) for n in range(41)]
    lines = [f"{on} 14 30" for on in days if on.isoweekday() <= 5]
    unit = book("\n".join(["2025-12-31 1 30 clear", *lines]))

    assert len(lines) == 29
    row = duty(GERMANY, unit, "2026-02-10")
    assert (row["due_on"], row["used_count"]) == (date(2026, 2, 10), 406)
    assert (row["is_overdue"], row["cycles_while_overdue"]) == (True, 6)
    assert not duty(GERMANY, unit, "2026-02-09")["is_overdue"]


@pytest.mark.parametrize(
    ("loads", "due_on"),
    [
        # 200 in the 91 days up to 2 July, the day on which the month is over: not more than 200.
        ("2025-04-03  100  30\n2025-06-02  97  30\n2025-06-02  3  30  clear", date(2025, 9, 1)),
        ("2025-04-03  100  30\n2025-06-02  98  30\n2025-06-02  3  30  clear", date(2025, 7, 2)),
        # Those of the 2nd of April lie before these days.
        ("2025-04-02  100  30\n2025-06-02  98  30\n2025-06-02  3  30  clear", date(2025, 9, 1)),
        # Used little at first: the month is long over when the use becomes much.
        ("2025-06-02  1  30  clear\n2025-07-20  150  30\n2025-08-04  50  30", date(2025, 8, 4)),
    ],
)
def test_a_month_where_a_quarter_s_use_is_much_and_else_three(loads, due_on):
    """Denmark: every three months, monthly over 200 to 400 cycles a quarter; as reported.

    That a quarter is the 91 days before, and a month 30, is worked out here.
    """
    assert duty(DENMARK, book(loads), "2025-08-05")["due_on"] == due_on


def test_each_day_of_use():
    """Each day on which it is used, and each kind of cycle: Ontario, reported."""
    unit = book("2025-06-02 3 30 clear\n2025-06-03 3 30\n2025-06-04 3 30")

    assert duty(ONTARIO, unit, "2025-06-03")["due_on"] == date(2025, 6, 3)
    assert not duty(ONTARIO, unit, "2025-06-03")["is_overdue"]
    row = duty(ONTARIO, unit, "2025-06-04")
    assert (row["days_overdue"], row["cycles_while_overdue"]) == (1, 3)


@pytest.mark.parametrize("between", [None, 840])
def test_the_loads_in_doubt_of_the_worked_case(between):
    """Last valid negative in 812, growth in 861, tests 815 and 830: 47 loads; worked out here.

    A negative between them whose control was dead changes nothing. CDC, MMWR 52(RR-17), 2003: what
    was processed since the last negative test; from memory.
    """
    unit = Unit("U1", "rule")
    for number in range(800, 862):
        started = datetime(2025, 6, 2, 8) + timedelta(hours=2 * (number - 800))
        is_load = number not in (815, 830)
        unit.cycles.append(
            Cycle(number, started, "pouch" if is_load else "test_leak", 1800, is_load)
        )
    told = {812: "valid_negative", 861: "growth"} | (
        {between: "invalid_control"} if between else {}
    )
    for cycle in unit.cycles:
        if cycle.number in told:
            unit.tests.append(SporeTest(f"T{cycle.number}", cycle, told[cycle.number], cycle.on))
    con = warehouse([unit], {"rule": [WEEKLY]})
    build_facts(con, Window.of(date(2025, 6, 30)))

    found = con.execute(
        "SELECT list(cycle_number ORDER BY cycle_number) FROM fact.lookback"
    ).fetchone()
    assert found[0] == [n for n in range(813, 862) if n not in (815, 830)]
    assert len(found[0]) == 47
