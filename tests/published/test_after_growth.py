"""What is asked for after growth, by the shipped profiles: the same log under two published rules.

CDC, MMWR 52(RR-17), 2003 (dental): repeat at once in the same cycle; only when that grows too,
inspection, recall since the last negative, and three consecutive runs. The first steps were read,
the last ones are from memory and reported. CDC, 2008 (hospitals), table 12, read: three
consecutive runs at once; recall of other loads only when one of them grows too.
"""

from datetime import date, datetime
from pathlib import Path

import pytest

from pipeline.config.network import Network, Site
from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from pipeline.practice.profiles import load_profiles, write_profiles
from tests.world.dull_spore import Cycle, SporeTest, Unit
from tests.world.spore_logs import warehouse

NOWHERE = Path("nowhere")


def steps(practice: str, tests: dict[str, str], as_of: str) -> dict[str, str]:
    """The state of each step that this practice asks for; by days, what was exposed on each."""
    unit = Unit("U1", practice)
    for place, (on, state) in enumerate(tests.items()):
        cycle = Cycle(100 + place, datetime.fromisoformat(f"{on} 09:00"), "pouch", 1800, True)
        unit.cycles.append(cycle)
        unit.tests.append(SporeTest(f"T{place}", cycle, state, cycle.on))
    con = warehouse([unit], {practice: []})
    site = Site("quay", "Quay", "Levels", "UTC", 0, practice, date(2020, 1, 1))
    network = Network(NOWHERE, "Saltmarsh", True, {"quay": site}, (), (), NOWHERE, NOWHERE, "f")
    write_profiles(con, load_profiles(network))
    build_facts(con, Window.of(date.fromisoformat(as_of)))
    return {
        step if condition == "growth" else f"{step}, {condition}": state
        for step, condition, state in con.execute(
            "SELECT step, condition, state FROM fact.incident_step ORDER BY place, condition"
        ).fetchall()
    }


GREW = {"2025-06-02": "valid_negative", "2025-06-09": "growth"}
REPEATED = {**GREW, "2025-06-10": "valid_negative"}
GREW_AGAIN = {**GREW, "2025-06-10": "growth"}
THREE = {f"2025-06-1{n}": "valid_negative" for n in (1, 2, 3)}


def test_the_dental_rule_is_content_with_a_clear_repeat():
    found = steps("us-cdc-dental", REPEATED, "2025-06-11")

    assert found["repeat_same_cycle"] == "done"
    assert found["consecutive_runs, second_growth"] == "not_needed"
    assert found["recall_since_last_negative, second_growth"] == "not_needed"


def test_the_hospital_rule_asks_for_three_runs_on_the_first_growth():
    assert steps("us-hospital", REPEATED, "2025-06-11")["consecutive_runs"] == "waiting"
    assert steps("us-hospital", REPEATED, "2025-06-30")["consecutive_runs"] == "missing"
    assert steps("us-hospital", {**GREW, **THREE}, "2025-06-30")["consecutive_runs"] == "done"


@pytest.mark.parametrize("practice", ["us-cdc-dental", "us-hospital"])
def test_a_second_growth_calls_for_a_recall_decision_and_for_the_cause(practice):
    found = steps(practice, GREW_AGAIN, "2025-06-30")

    assert found["recall_since_last_negative, second_growth"] == "missing"
    assert found["inspect_or_repair, second_growth"] == "missing"


def test_three_clear_runs_after_a_second_growth_must_follow_one_another():
    broken = {**GREW_AGAIN, **THREE, "2025-06-12": "growth"}

    key = "consecutive_runs, second_growth"
    assert steps("us-cdc-dental", {**GREW_AGAIN, **THREE}, "2025-06-30")[key] == "done"
    assert steps("us-cdc-dental", broken, "2025-06-30")[key] == "missing"


@pytest.mark.parametrize("state", ["invalid_control", "no_control", "early_read", "expired_lot"])
def test_a_repeat_that_does_not_count_is_no_repeat(state):
    """The control must grow, or the test says nothing: CDC, MMWR 52(RR-17), 2003, read."""
    found = steps("us-cdc-dental", {**GREW, "2025-06-10": state}, "2025-06-30")

    assert found["repeat_same_cycle"] == "missing"
