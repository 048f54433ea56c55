"""Findings about cycles said complete that were not as their program asks."""

from datetime import date

import pytest

from pipeline.base.message import spoken
from pipeline.measure.findings.verdict import verdict_findings
from pipeline.measure.window import Window
from pipeline.physics.verdict import Limit
from pipeline.warehouse.connection import open_memory

WINDOW = Window.of(date(2026, 10, 31))
COLUMNS = (
    "cycle_id", "unit_serial", "cycle_number", "started_on", "program", "broken", "broken_by",
    "load_id", "load_kind", "is_rejected",
)  # fmt: skip


@pytest.fixture
def findings_of():
    def found(*rows, notes=()):
        with open_memory() as con:
            con.execute("CREATE SCHEMA fact")
            con.execute(
                """
                CREATE TABLE fact.verdict_broken (
                    cycle_id VARCHAR, unit_serial VARCHAR, cycle_number BIGINT, started_on DATE,
                    program VARCHAR, broken VARCHAR, broken_by DOUBLE, load_id VARCHAR,
                    load_kind VARCHAR, is_rejected BOOLEAN
                )
                """
            )
            con.execute("CREATE SCHEMA model")
            con.execute(
                """
                CREATE TABLE model.follow_up (
                    finding_id VARCHAR, done_on DATE, state VARCHAR, action VARCHAR
                )
                """
            )
            for note in notes:
                con.execute("INSERT INTO model.follow_up VALUES (?, ?, 'closed', 'decided')", note)
            con.execute("CREATE TABLE fact.service AS SELECT 'U1' AS unit_serial, 's' AS site_id")
            for row in rows:
                values = row if isinstance(row, tuple) else tuple(row[name] for name in COLUMNS)
                con.execute(f"INSERT INTO fact.verdict_broken VALUES ({'?, ' * 9}?)", values)
            return verdict_findings(con, WINDOW)

    return found


def row(cycle_id="A", **changed):
    return {
        "cycle_id": cycle_id,
        "unit_serial": "U1",
        "cycle_number": 5159,
        "started_on": date(2026, 10, 30),
        "program": "pouch",
        "broken": "hold_too_short",
        "broken_by": 41.4,
        "load_id": "L7",
        "load_kind": "instruments",
        "is_rejected": False,
    } | changed


def test_one_load_is_named_with_its_kind_and_by_how_much_it_missed(findings_of):
    (found,) = findings_of(row())
    assert (found.kind, found.state, found.since_on) == (
        "cycle_broken", "act_now", date(2026, 10, 30),
    )  # fmt: skip
    assert spoken(found.why) == (
        "A cycle said complete did not show what its program asks: "
        "cycle 5,159, load L7, instruments was held 41 s too short."
    )
    assert "licensed person decides" in spoken(found.next_step)
    assert "even if their indicators passed" in spoken(found.next_step)


def test_several_loads_of_a_unit_are_one_finding_with_the_latest_told(findings_of):
    (found,) = findings_of(
        row("A", started_on=date(2026, 10, 28), cycle_number=5100),
        row("B", broken="below_theory", broken_by=0.74),
        row("C", started_on=date(2026, 10, 29), cycle_number=5120),
    )
    assert found.weight == 3
    assert spoken(found.why).startswith(
        "3 cycles said complete did not show what their programs ask"
    )
    assert "cycle 5,159" in spoken(found.why) and "0.7 K more than allowed below" in spoken(
        found.why
    )


def test_a_load_that_the_log_rejects_and_one_of_an_earlier_year_need_nobody(findings_of):
    assert findings_of(row("A", is_rejected=True), row("B", started_on=date(2025, 10, 30))) == []


def test_a_unit_that_is_not_in_service_has_no_finding(findings_of):
    assert findings_of(row(unit_serial="U9")) == []


def test_a_cycle_without_number_or_load_is_told_all_the_same(findings_of):
    (found,) = findings_of(row(cycle_number=None, load_id=None, load_kind=None))
    assert "cycle without a number was held 41 s too short" in spoken(found.why)


def test_what_is_missed_is_never_rounded_to_nothing(findings_of):
    (short,) = findings_of(row(broken_by=0.2))
    assert "held 1 s too short" in spoken(short.why)
    (cold,) = findings_of(row(broken="too_cold_between", broken_by=0.01))
    assert "fell 0.1 K below" in spoken(cold.why)


@pytest.mark.parametrize("limit", [one for one in Limit if one is not Limit.NONE])
def test_every_limit_that_can_be_broken_has_its_words(findings_of, limit):
    (found,) = findings_of(row(broken=limit.name.lower(), broken_by=2.0))
    assert "{" not in spoken(found.why)
    assert "2" in spoken(found.why).replace("5,159", "")


def test_a_note_closes_the_loads_up_to_its_day_and_no_later_one(findings_of):
    loads = row("A", started_on=date(2026, 10, 20)), row("B", started_on=date(2026, 10, 24))
    (before,) = findings_of(*loads)
    note = (before.finding_id, date(2026, 10, 25))
    assert findings_of(*loads, notes=[note]) == []
    (after,) = findings_of(*loads, row("C"), notes=[note])
    assert (after.since_on, after.weight) == (date(2026, 10, 30), 1)
    assert after.finding_id != before.finding_id


def test_a_finding_keeps_its_name_when_its_first_load_is_of_last_year(findings_of):
    old, new = row("A", started_on=date(2025, 10, 30)), row("B")
    (found,) = findings_of(old, new)
    assert (found.since_on, found.weight) == (date(2025, 10, 30), 1)
    assert spoken(found.why).startswith("A cycle said complete")
