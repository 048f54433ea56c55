"""Findings of the rules that the small network's own practice does not hold; each on one unit."""

from datetime import date

import pytest

from pipeline.base.message import spoken
from pipeline.measure.findings.spore import spore_findings
from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.by_hand import count_cycles

AS_OF = date(2026, 10, 31)
RULE = "'weekly' AS practice, DATE '0001-01-01' AS valid_from, 'a source' AS source, " \
    "'derived' AS confidence, 'weekly' AS declared_by"  # fmt: skip


@pytest.fixture
def con(warehouse_of, network_rows):
    con = warehouse_of(network_rows)
    con.execute("DELETE FROM practice.event_rule")
    con.execute("DELETE FROM practice.response_rule")
    return con


def found(con, kind: str) -> list:
    window = Window.of(AS_OF)
    count_cycles(con)
    build_facts(con, window)
    return [one for one in spore_findings(con, window) if one.kind == kind]


def note(con, finding_id: str, state: str, on: str = "2026-10-30") -> None:
    con.execute(
        "INSERT INTO model.follow_up BY NAME SELECT ? AS finding_id, ?::DATE AS done_on, "
        "'looked into it' AS action, ? AS state, 'notes' AS file_id, 2 AS line",
        [finding_id, on, state],
    )


def test_a_repair_is_told_until_its_tests_are_complete(con):
    con.execute(
        f"INSERT INTO practice.event_rule BY NAME SELECT {RULE}, 'repair' AS event, "
        "'biological' AS test, 3 AS test_count, false AS is_per_program, 'all' AS applies_to"
    )
    con.execute(
        "INSERT INTO model.task BY NAME SELECT 'GQ-1' AS unit_serial, 'gannet-quay' AS site_id, "
        "'repair' AS task, 'repair' AS kind, "
        "unnest([DATE '2026-10-15', DATE '2026-03-10']) AS done_on"
    )

    (one,) = found(con, "event_test")

    assert (one.unit_serial, one.since_on, one.task) == ("GQ-1", date(2026, 10, 15), "repair")
    assert spoken(one.why).startswith(
        "After a repair: 2 so far of 3 clear spore tests, one after another"
    )
    assert (one.rule, one.source) == ("event/repair/biological", "a source")
    note(con, one.finding_id, "closed")
    assert found(con, "event_test") == []
    note(con, one.finding_id, "open", "2026-10-31")
    assert [again.finding_id for again in found(con, "event_test")] == [one.finding_id]


def test_after_growth_with_a_clear_test_since_the_missing_steps_are_told(con):
    con.execute(
        f"INSERT INTO practice.response_rule BY NAME SELECT {RULE}, 'growth' AS condition, "
        "unnest([1, 2, 3]) AS place, "
        "unnest(['review', 'consecutive_runs', 'requalify']) AS step, 2 AS test_count"
    )
    con.execute(
        "UPDATE model.test SET state = 'growth' "
        "WHERE unit_serial = 'GQ-1' AND exposed_on = '2026-09-07'"
    )

    (one,) = found(con, "incident")

    assert (one.unit_serial, one.since_on) == ("GQ-1", date(2026, 9, 7))
    assert spoken(one.why) == (
        "After growth, with a clear test since, 2 steps of 3 are not on record: look for the cause "
        "in technique, parameters and chemical indicators; requalify the unit."
    )
    assert one.rule == "response/review/growth"
    ids = con.execute("SELECT steps_id FROM fact.incident WHERE unit_serial = 'GQ-1'").fetchall()
    assert ids == [(one.finding_id,)]


def test_the_growth_that_is_open_has_the_id_of_its_incident(con):
    (one,) = found(con, "growth")

    assert con.execute(
        "SELECT incident_id FROM fact.incident WHERE unit_serial = 'GQ-2'"
    ).fetchall() == [(one.finding_id,)]


def test_implants_without_a_test_are_told_until_somebody_closes_it(con):
    con.execute(
        f"INSERT INTO practice.spore_rule BY NAME SELECT {RULE}, 'implant' AS rule, "
        "'per_load' AS kind, false AS is_per_program, 0 AS grace_days, 14 AS result_days, "
        "false AS is_paused_when_closed"
    )
    con.execute(
        "UPDATE model.cycle SET load_kind = 'implants', released = 'yes' "
        "WHERE unit_serial = 'GQ-1' AND started_on IN ('2026-10-06', '2026-10-29')"
    )

    (one,) = found(con, "implant_untested")
    assert (one.state, one.since_on) == ("act_now", date(2026, 10, 6))
    assert spoken(one.why) == (
        "8 loads with implants have no spore test that counts; 8 of them were signed off, "
        "8 without a note that may say why."
    )
    note(con, one.finding_id, "closed", "2026-10-20")

    (left,) = found(con, "implant_untested")
    assert left.since_on == date(2026, 10, 29)
    assert spoken(left.why).startswith("4 loads with implants")

    con.execute(
        """
        INSERT INTO model.test BY NAME
        SELECT
            * REPLACE (
                'of-that-day' AS test_id,
                NULL AS cycle_id,
                'implant' AS purpose,
                DATE '2026-10-29' AS exposed_on,
                DATE '2026-10-30' AS read_on,
                TIMESTAMP '2026-10-29 09:00' AS exposed_utc
            ),
        FROM model.test
        WHERE state = 'valid_negative' AND unit_serial = 'GQ-1'
        ORDER BY test_id
        LIMIT 1
        """
    )
    (unclear,) = found(con, "implant_untested")
    assert spoken(unclear.why).startswith(
        "4 loads with implants have no spore test that counts (for 4 of them, a test of that day "
        "does not say in which of the day’s implant loads it was); 4 of them were signed off"
    )
