"""Against what the simulator hid: every week without a test and every growth, and no other."""

import json
from datetime import date, timedelta

import pytest

from pipeline.warehouse.connection import open_file


@pytest.fixture(scope="module")
def truth_and_con(ran):
    folder, _ = ran
    truth = json.loads((folder / "truth" / "truth.json").read_text(encoding="utf-8"))
    with open_file(folder / "state" / "warehouse.duckdb") as con:
        yield truth["units"], con


def weeks(con, unit_serial: str) -> dict[date, str]:
    return dict(
        con.execute(
            "SELECT week_on, state FROM fact.spore_week WHERE unit_serial = ?", [unit_serial]
        ).fetchall()
    )


def test_every_week_in_which_the_test_was_left_out_is_found_and_no_other(truth_and_con, ends_on):
    units, con = truth_and_con
    counted = 0
    for unit in units:
        told = weeks(con, unit["unit_serial"])
        left_out = {date.fromisoformat(on) for on in unit["missed_test_weeks"]}
        # The week that is not over is not judged, and of one that was not seen nothing is said.
        expected = {
            on
            for on in left_out
            if on + timedelta(days=6) <= ends_on and told.get(on) != "not_seen"
        }
        found = {on for on, state in told.items() if state in ("not_done", "late")}
        assert found == expected, unit["unit_serial"]
        counted += len(found)
    assert counted > 0


def test_every_growth_is_found_and_none_is_invented(truth_and_con):
    units, con = truth_and_con
    expected = {(one["unit_serial"], test) for one in units for test in one["growths"]}
    found = con.execute(
        "SELECT unit_serial, test_id FROM fact.spore_test WHERE state = 'growth'"
    ).fetchall()

    assert expected
    assert set(found) == expected


def test_growth_that_nobody_looked_into_is_told_and_no_other(truth_and_con):
    units, con = truth_and_con
    unlooked = {test for one in units for test in one["growths_nobody_looked_into"]}
    reviewed = dict(
        con.execute(
            """
            SELECT incident.test_id, step.state
            FROM fact.incident AS incident
            JOIN fact.incident_step AS step USING (incident_id)
            WHERE step.step = 'review'
            """
        ).fetchall()
    )

    assert reviewed.keys() & unlooked
    assert {test for test, state in reviewed.items() if state == "done"} == {
        *reviewed.keys() - unlooked
    }


def test_every_test_that_does_not_count_is_one_whose_line_says_why(truth_and_con):
    _, con = truth_and_con
    told = con.execute(
        """
        SELECT test.state, bool_and(CASE test.state
            WHEN 'invalid_control' THEN model.control_result = 'no_growth'
            WHEN 'no_control' THEN coalesce(model.control_result, 'missing') = 'missing'
                OR model.control_lot <> model.lot
            WHEN 'expired_lot' THEN model.expires_on < test.exposed_on
            WHEN 'early_read' THEN model.read_utc IS NOT NULL
            WHEN 'orphan' THEN model.orphan_reason IS NOT NULL
            ELSE model.result IN ('lost', 'pending')
        END)
        FROM fact.spore_test AS test
        JOIN model.test AS model USING (unit_serial, test_id)
        WHERE test.effect = 'void'
        GROUP BY test.state
        ORDER BY test.state
        """
    ).fetchall()

    assert told
    assert all(is_borne_out for _, is_borne_out in told), told
