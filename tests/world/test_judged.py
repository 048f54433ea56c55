"""What is scripted to go wrong with single cycles is found in a run, and nobody else accused."""

import json

import pytest

from pipeline.warehouse.connection import open_file

BREAKS = ("short", "air")
TORN = ("fahrenheit", "gauge", "dropped", "frozen", "jump")


@pytest.fixture(scope="module")
def truth_and_con(ran):
    """The truth about each mishap as (unit, number), and the warehouse after one run."""
    folder, _ = ran
    units = json.loads((folder / "truth" / "truth.json").read_text(encoding="utf-8"))["units"]
    truth = {
        kind: {
            (unit["unit_serial"], number)
            for unit in units
            for number in unit["mishaps"].get(kind, [])
        }
        for kind in (*BREAKS, *TORN, "echo", "copy")
    }
    with open_file(folder / "state" / "warehouse.duckdb") as con:
        yield truth, con


def judged(con):
    """Verdict, source, limit and reason of each load cycle said complete, by unit and number."""
    rows = con.execute(
        """
        SELECT cycle.unit_serial, cycle.cycle_number, judged.verdict, judged.judged_from,
            judged.broken, judged.reason
        FROM judge.cycle AS judged
        JOIN model.cycle AS cycle USING (cycle_id)
        WHERE cycle.outcome = 'complete' AND cycle.is_load_cycle
        """
    ).fetchall()
    return {(unit, number): tuple(rest) for unit, number, *rest in rows}


def test_the_truth_holds_every_kind_of_mishap(truth_and_con):
    truth, con = truth_and_con
    received = judged(con).keys()
    # Some lines of this world were cut short, and their cycles with them.
    for kind, cycles in truth.items():
        assert len(cycles & received) >= 2, kind


def test_every_cycle_that_was_not_as_asked_breaks_by_what_was_scripted(truth_and_con):
    truth, con = truth_and_con
    found = judged(con)
    for kind, limit in (("short", "hold_too_short"), ("air", "below_theory")):
        for cycle in truth[kind] & found.keys():
            assert found[cycle][0] == "breaks", cycle
            assert found[cycle][2] == limit, cycle


def test_no_other_load_cycle_said_complete_breaks(truth_and_con):
    truth, con = truth_and_con
    broken = {cycle for cycle, told in judged(con).items() if told[0] == "breaks"}
    assert broken <= truth["short"] | truth["air"]


def test_readings_that_cannot_be_believed_never_pass(truth_and_con):
    truth, con = truth_and_con
    found = judged(con)
    for kind in TORN:
        for cycle in truth[kind] & found.keys():
            verdict, judged_from, *_ = found[cycle]
            assert (verdict, judged_from) != ("meets", "readings"), (kind, cycle)
            assert verdict != "breaks", (kind, cycle)
    reasons = {kind: {found[c][3] for c in truth[kind] & found.keys()} for kind in TORN}
    assert reasons["frozen"] == {"frozen_probe"}
    assert reasons["dropped"] == {"gap"}
    assert reasons["jump"] <= {"instants_repeat", "time_doubtful"}
    assert reasons["fahrenheit"] <= {"lines_held", "unit_slip", None}


def test_the_unit_that_prints_what_was_set_is_an_echo_and_no_other(truth_and_con):
    truth, con = truth_and_con
    units = {
        unit for (unit,) in con.execute("SELECT unit_serial FROM fact.verdict_echo").fetchall()
    }
    assert units == {unit for unit, _ in truth["echo"]}


def test_the_record_that_was_printed_again_is_found_and_no_other_cycle_repeats_its_neighbours(
    truth_and_con,
):
    truth, con = truth_and_con
    rows = con.execute(
        """
        SELECT cycle.unit_serial, cycle.cycle_number, again.run_count
        FROM fact.verdict_repeat AS again
        JOIN model.cycle AS cycle USING (cycle_id)
        """
    ).fetchall()
    copied = truth["copy"] & judged(con).keys()
    assert {(unit, number) for unit, number, _ in rows} == copied
    assert {run_count for *_, run_count in rows} == {len(copied)}
    # None of them shows anything, whichever of them was the true one.
    told = con.execute("SELECT sum(cycle_count)::INTEGER FROM fact.verdict WHERE code = 'repeat'")
    assert told.fetchone() == (len(copied),)


def test_each_unit_with_loads_in_doubt_has_one_finding_and_no_other_unit_has(truth_and_con):
    truth, con = truth_and_con
    rows = con.execute(
        "SELECT unit_serial, state FROM measure.finding WHERE kind = 'cycle_broken'"
    ).fetchall()
    broken = {unit for kind in BREAKS for unit, _ in truth[kind] & judged(con).keys()}
    assert sorted(rows) == sorted((unit, "act_now") for unit in broken)


def test_what_meets_breaks_and_cannot_be_told_adds_up_to_all_that_was_finished(truth_and_con):
    _, con = truth_and_con
    counted = con.execute("SELECT sum(cycle_count)::BIGINT FROM fact.verdict").fetchone()
    finished = con.execute(
        """
        SELECT count(*)
        FROM model.cycle AS cycle
        JOIN judge.kind AS kind USING (program)
        WHERE cycle.outcome = 'complete'
        """
    ).fetchone()
    assert counted == finished
