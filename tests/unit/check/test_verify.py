"""The five verdicts, what is kept of them, and that the order of files does not matter."""

from dataclasses import replace

import pytest

from pipeline.base.errors import CheckError
from pipeline.check.verify import check_rows
from pipeline.config.rules import rules
from pipeline.warehouse.statements import statement

RULE = {rule.rule_id: rule for rule in rules()}
NO_SUCH_COLUMN = {"unexpected_rows_query": "SELECT * FROM {batch} WHERE hold_kelvin > 0"}
FAILS_AS_IT_RUNS = {
    "unexpected_rows_query": "SELECT * FROM {batch} WHERE error('worn out') IS NULL"
}


def verdicts(runs):
    return {run.rule_id: run.verdict for run in runs}


def test_the_five_verdicts(con, put, examples):
    row = examples["cycle"]["row"]
    put("cycle", [row | {"outcome": None, "cycle_number": None, "leak_kpa_per_minute": None}])
    cannot_run = replace(
        RULE["CYC-42"], type="unexpected_rows_expectation", settings=NO_SUCH_COLUMN
    )
    said = check_rows(
        con,
        ["file-1"],
        [
            RULE["CYC-02"],
            RULE["CYC-26"],
            RULE["CYC-07"],
            cannot_run,
            RULE["CYC-40"],
            RULE["TSK-02"],
        ],
    )
    assert verdicts(said) == {
        "CYC-02": "pass",
        "CYC-26": "warn",
        "CYC-07": "fail",
        "CYC-42": "error",
        "CYC-40": "not_applicable",  # no row has a leak rate, and empty is not a pass
        "TSK-02": "not_applicable",  # no task came
    }
    [error] = [run for run in said if run.verdict == "error"]
    assert error.failed_count is None
    assert "hold_kelvin" in error.message


def test_a_warning_that_cannot_run_leaves_the_transaction_and_the_other_rules_alive(
    con, put, examples
):
    con.execute("BEGIN")
    put("cycle", [examples["cycle"]["row"] | {"outcome": None}])
    cannot_run = replace(
        RULE["CYC-42"], type="unexpected_rows_expectation", settings=NO_SUCH_COLUMN
    )
    said = verdicts(check_rows(con, ["file-1"], [RULE["CYC-07"], cannot_run]))
    con.execute("COMMIT")
    assert said == {"CYC-07": "fail", "CYC-42": "error"}
    assert con.execute("SELECT rule_id FROM stage.held").fetchall() == [("CYC-07",)]


def test_rows_that_a_critical_rule_could_not_judge_are_not_used(con, put, examples):
    put("cycle", [examples["cycle"]["row"]])
    cannot_run = replace(RULE["CYC-10"], settings=NO_SUCH_COLUMN)
    with pytest.raises(CheckError, match=r"CYC-10: .*hold_kelvin"):
        check_rows(con, ["file-1"], [RULE["CYC-02"], cannot_run])
    assert con.execute("SELECT count(*) FROM stage.check_run").fetchone() == (0,)


def test_a_rule_that_fails_while_it_runs_is_an_error_and_neither_pass_nor_fail(con, put, examples):
    put("cycle", [examples["cycle"]["row"]])
    fails = replace(RULE["CYC-29"], settings=FAILS_AS_IT_RUNS)
    said = check_rows(con, ["file-1"], [RULE["CYC-02"], fails])
    assert verdicts(said) == {"CYC-02": "pass", "CYC-29": "error"}
    assert "worn out" in said[1].message


def test_a_rule_that_ends_the_transaction_of_a_run_stops_the_run_and_says_why(con, put, examples):
    con.execute("BEGIN")
    put("cycle", [examples["cycle"]["row"]])
    fails = replace(RULE["CYC-29"], settings=FAILS_AS_IT_RUNS)
    with pytest.raises(CheckError, match=r"worn out in: SELECT .*new_cycle"):
        check_rows(con, ["file-1"], [fails, RULE["CYC-07"], RULE["CYC-31"]])


def test_what_is_said_of_a_batch_is_kept_once_however_often_it_is_checked(con, put, examples):
    put("cycle", [examples["cycle"]["row"] | {"cycle_number": None}])
    first = check_rows(con, ["file-1"])
    kept = con.execute("FROM stage.check_run ORDER BY rule_id").fetchall()
    assert check_rows(con, ["file-1"]) == first
    assert con.execute("FROM stage.check_run ORDER BY rule_id").fetchall() == kept
    assert len(kept) == len(rules())
    assert con.execute("FROM stage.warned").fetchall() == [("file-1", "cycle", 2, "CYC-26")]


def test_the_page_tells_a_rule_that_could_judge_no_row_from_one_that_passed(con, put, examples):
    row = examples["cycle"]["row"] | {"leak_kpa_per_minute": None}
    for name in ("before", "now"):
        put("cycle", [row, row | {"outcome": None, "started": "2026-03-02 08:00"}], name)
        check_rows(con, [name])
    shown = con.execute(
        f"SELECT rule_id, verdict, failed_count FROM ({statement('model', 'check').text})"
    ).fetchall()
    told = {rule_id: (verdict, count) for rule_id, verdict, count in shown}
    assert told["CYC-02"] == ("pass", 0)
    assert told["CYC-07"] == ("fail", 2)
    assert told["CYC-40"] == ("not_applicable", 0)
    assert told["TSK-02"] == ("not_applicable", 0)


def test_nothing_new_is_not_applicable_and_leaves_no_trace(con):
    assert {run.verdict for run in check_rows(con, [])} == {"not_applicable"}
    assert con.execute("SELECT count(*) FROM stage.check_run").fetchone() == (0,)


def test_rows_of_other_files_are_neither_judged_nor_held(con, put, examples):
    bad = examples["cycle"]["row"] | {"outcome": None}
    for name in ("before", "now", "after"):
        put("cycle", [bad], name)
    said = check_rows(con, ["now"], [RULE["CYC-07"]])
    assert [run.row_count for run in said] == [1]
    assert con.execute("SELECT file_id FROM stage.held").fetchall() == [("now",)]
    left = con.execute("SELECT file_id FROM stage.cycle ORDER BY file_id").fetchall()
    assert left == [("after",), ("before",)]


def everything(con):
    tables = ("cycle", "test", "task", "reading", "closure", "follow_up", "held", "warned")
    return {name: con.execute(f"FROM stage.{name} ORDER BY ALL").fetchall() for name in tables} | {
        "check_run": con.execute(
            """
            SELECT rule_id, sum(row_count), sum(failed_count)
            FROM stage.check_run GROUP BY rule_id ORDER BY rule_id
            """
        ).fetchall()
    }


def put_all_examples(put, examples):
    """Every bad row of every table, two rules a file, so that no file is clean; the file ids."""
    file_ids = []
    for table, suite in examples.items():
        names = [name for name in suite if name != "row"]
        for first in range(0, len(names), 2):
            rows = []
            for name in names[first : first + 2]:
                bad = suite[name]["bad"]
                rows += [suite["row"] | one for one in (bad if isinstance(bad, list) else [bad])]
            file_ids.append(f"{table}-{first}")
            put(table, rows, file_ids[-1])
    return file_ids


@pytest.fixture
def checked_at_once(con, put, examples):
    check_rows(con, put_all_examples(put, examples))
    return everything(con)


@pytest.mark.parametrize(
    ("step", "order"), [(2, 1), (2, -1), (7, 1), (7, -1)], ids=lambda number: str(number)
)
def test_any_split_of_the_files_into_runs_ends_in_the_same_tables(
    checked_at_once, con, put, examples, step, order
):
    """In `step` runs, each of every step-th file, forwards or backwards."""
    for name in ("file", "cycle", "test", "task", "reading", "closure", "follow_up"):
        con.execute(f"DELETE FROM stage.{name}")
    for name in ("held", "warned", "check_run"):
        con.execute(f"DELETE FROM stage.{name}")
    file_ids = put_all_examples(put, examples)
    for start in range(step)[::order]:
        check_rows(con, file_ids[start::step])
    assert everything(con) == checked_at_once
