"""What a spore test's log entries amount to. Rules: CDC, MMWR 52(RR-17), 2003, "Sterilization
monitoring" (a matching control that must grow); FDA, Biological Indicator Premarket Notification,
2007, section 7E (seven days unless a shorter incubation was validated)."""

from datetime import date, datetime

import pytest

DAY = datetime(2026, 6, 2, 10, 0)


def entry(**told):
    return {
        "test_id": "T1",
        "unit_serial": "SI-1",
        "kind": "biological",
        "exposed_local": DAY,
        "exposed_utc": DAY,
        "incubation_started_utc": datetime(2026, 6, 2, 16, 40),
        "incubation_hours": 24.0,
        "read_utc": datetime(2026, 6, 3, 16, 40),
        "read_local": datetime(2026, 6, 3, 16, 40),
        "result": "no_growth",
        "control_result": "growth",
        "lot": "L1",
        "control_lot": "L1",
        "expires_on": date(2026, 6, 2),
        "month": date(2026, 6, 1),
    } | told


STATES = [
    # what differs from a right entry                             state
    ({}, "valid_negative"),
    ({"control_result": "no_growth"}, "invalid_control"),
    ({"control_result": None}, "no_control"),
    ({"control_result": "missing"}, "no_control"),
    ({"control_lot": "L2"}, "no_control"),
    ({"expires_on": date(2026, 6, 1)}, "expired_lot"),
    ({"read_utc": datetime(2026, 6, 3, 15, 0)}, "early_read"),
    ({"incubation_hours": None}, "early_read"),
    ({"incubation_hours": None, "read_utc": datetime(2026, 6, 9, 16, 40)}, "valid_negative"),
    ({"incubation_started_utc": None, "read_utc": datetime(2026, 6, 3, 10, 0)}, "valid_negative"),
    ({"result": "growth"}, "growth"),
    ({"result": "growth", "read_utc": datetime(2026, 6, 3, 8, 0)}, "growth"),
    ({"result": "growth", "control_result": "no_growth"}, "growth"),
    ({"result": "lost"}, "lost"),
    ({"result": "pending", "read_utc": None}, "pending"),
    ({"result": None, "read_utc": None}, "pending"),
    ({"read_utc": None}, "pending"),
    ({"kind": "steam_penetration", "result": "pass", "control_result": None}, "pass"),
    ({"kind": "leak", "result": "fail"}, "fail"),
]


@pytest.mark.parametrize(("told", "state"), STATES, ids=str)
def test_only_a_complete_and_controlled_reading_is_a_valid_negative(con, arrive, told, state):
    arrive("test", {"a": ("2026-06-30", [entry(**told)])})
    assert con.execute("SELECT state FROM model.test").fetchall() == [(state,)]


def test_a_result_that_comes_later_closes_the_pending_test_in_either_order(con, arrive):
    pending = entry(result="pending", read_utc=None, read_local=None)
    arrive("test", {"june": ("2026-06-30", [entry()])})
    arrive("test", {"sent-again": ("2026-07-31", [pending])})
    assert con.execute("SELECT state, copy_count FROM model.test").fetchall() == [
        ("valid_negative", 2)
    ]


def test_growth_once_reported_is_not_argued_away_by_a_later_copy(con, arrive):
    arrive("test", {"june": ("2026-06-30", [entry(result="growth")])})
    arrive("test", {"july": ("2026-07-31", [entry(), entry(result="pending", read_utc=None)])})
    assert con.execute("SELECT state, copy_count FROM model.test").fetchall() == [("growth", 3)]


def test_a_test_is_tied_to_the_cycle_of_that_counter_nearest_in_time(con, arrive):
    for started in (datetime(2026, 6, 2, 10, 1), datetime(2026, 6, 2, 23, 30)):
        cycle = {"unit_serial": "SI-1", "cycle_number": 5, "started_utc": started}
        cycle |= {"started_local": started, "outcome": "complete", "program": "wrapped_134"}
        file_id = f"at-{started.hour}"
        arrive("cycle", {file_id: ("2026-06-30", [cycle | {"month": date(2026, 6, 1)}])})
    arrive("test", {"a": ("2026-06-30", [entry(cycle_number=5), entry(test_id="T2")])})
    assert con.execute("SELECT test_id, cycle_id FROM model.test ORDER BY 1").fetchall() == [
        ("T1", "SI-1-5-20260602T1001"),
        ("T2", None),
    ]
