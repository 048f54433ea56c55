"""Findings about tests that are no spore tests; each on one unit of the small network."""

from datetime import date, datetime

import pytest

from pipeline.base.message import spoken
from pipeline.measure.findings.routine import routine_findings
from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from tests.by_hand import count_cycles

AS_OF = date(2026, 10, 31)


@pytest.fixture
def con(warehouse_of, network_rows):
    return warehouse_of(network_rows)


def found(con, as_of: date = AS_OF) -> list:
    window = Window.of(as_of)
    count_cycles(con)
    build_facts(con, window)
    return routine_findings(con, window)


def ask(con, test: str, kind: str) -> None:
    con.execute(
        "INSERT INTO practice.routine_rule BY NAME SELECT 'weekly' AS practice, ? AS test, "
        "? AS kind, 0 AS grace_days, 'all' AS applies_to, DATE '0001-01-01' AS valid_from, "
        "'a source' AS source, 'derived' AS confidence, 'weekly' AS declared_by",
        [test, kind],
    )


def log(con, kind: str, state: str, on: date) -> None:
    con.execute(
        "INSERT INTO model.test BY NAME SELECT concat_ws('/', ?, ?) AS test_id, 'GQ-1' AS "
        "unit_serial, 'gannet-quay' AS site_id, ? AS kind, ? AS state, ? AS exposed_on, "
        "? AS exposed_utc, ? AS read_on, 'book' AS file_id, 2 AS line",
        [kind, on, kind, state, on, datetime(on.year, on.month, on.day, 5), on],
    )


def close(con, finding_id: str, on: date) -> None:
    con.execute(
        "INSERT INTO model.follow_up BY NAME SELECT ? AS finding_id, ? AS done_on, "
        "'looked into it' AS action, 'closed' AS state, 'notes' AS file_id, 2 AS line",
        [finding_id, on],
    )


def test_a_network_without_such_rules_and_failures_has_none(con):
    assert found(con) == []


def test_a_failed_test_is_told_until_a_clear_one_or_a_note(con):
    log(con, "leak", "pass", date(2026, 10, 5))
    log(con, "leak", "fail", date(2026, 10, 28))

    (one,) = found(con)

    assert (one.kind, one.state, one.unit_serial) == ("routine_failed", "act_now", "GQ-1")
    assert (one.since_on, one.task, one.rule) == (date(2026, 10, 28), "leak", "routine/leak")
    # Four loads on the Wednesday, Thursday and Friday.
    assert spoken(one.why) == (
        "Leak test failed, and no clear one is on record since; 12 load cycles run since."
    )
    assert spoken(one.next_step).startswith("Warm the unit and repeat the test once")
    log(con, "leak", "pass", date(2026, 10, 30))
    assert found(con) == []
    con.execute("DELETE FROM model.test WHERE kind = 'leak' AND exposed_on = '2026-10-30'")
    assert [again.finding_id for again in found(con)] == [one.finding_id]
    close(con, one.finding_id, date(2026, 10, 31))
    assert found(con) == []


def test_missing_three_days_of_four_weeks_is_a_habit_and_two_are_not(con):
    ask(con, "steam_penetration", "use_day")
    days = con.execute(
        "SELECT DISTINCT started_on FROM model.cycle WHERE unit_serial = 'GQ-1' "
        "AND started_on <= ? ORDER BY 1",
        [AS_OF],
    ).fetchall()
    for (on,) in days:
        if on not in {date(2026, 10, 6), date(2026, 10, 15), date(2026, 10, 29)}:
            log(con, "steam_penetration", "pass", on)

    (one,) = [each for each in found(con) if each.unit_serial == "GQ-1"]

    assert (one.kind, one.state) == ("routine_missed", "look_into")
    assert one.since_on == date(2026, 10, 6)
    assert spoken(one.why).startswith(
        "Steam penetration test: none that ran to its end for 3 of 20 days of use in 4 weeks, "
        "and 3 of "
    )
    assert (one.rule, one.source) == ("routine/steam_penetration", "a source")
    log(con, "steam_penetration", "pass", date(2026, 10, 15))
    assert [each for each in found(con) if each.unit_serial == "GQ-1"] == []


def test_a_load_whose_indicator_did_not_change_is_told_until_it_is_rejected_or_noted(con):
    def say(on: str, released: str | None) -> None:
        con.execute(
            "UPDATE model.cycle SET chemical_indicator = 'not_changed', released = ? "
            "WHERE cycle_id = (SELECT min(cycle_id) FROM model.cycle WHERE unit_serial = 'GQ-1' "
            "AND started_on = ? AND is_load_cycle AND outcome = 'complete')",
            [released, on],
        )

    say("2026-09-01", None)
    (one,) = found(con)
    assert (one.kind, one.state, one.since_on) == (
        "indicator_unchanged",
        "look_into",
        date(2026, 9, 1),
    )
    say("2026-09-03", "yes")
    (two,) = found(con)
    assert (two.state, two.finding_id) == ("act_now", one.finding_id)
    assert spoken(two.why).startswith("In 2 loads of the year") and spoken(two.why).endswith(
        "; 1 was signed off."
    )
    close(con, two.finding_id, date(2026, 9, 2))
    (three,) = found(con)
    assert three.since_on == date(2026, 9, 3)
    say("2026-09-03", "quarantined")
    assert found(con) == []
