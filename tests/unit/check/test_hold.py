"""What is held is what was counted, row for row, and no line is lost."""

import random
import re
from datetime import datetime, timedelta

import pytest

from pipeline.base.errors import CheckError
from pipeline.check.batch import new_rows
from pipeline.check.hold import hold_rows
from pipeline.check.outcome import Outcome
from pipeline.check.verify import check_rows, run_suite
from pipeline.config.rules import rules

ROW_COUNT = 300


def worn(row, chance, random_):
    """A good row in which some values were replaced by others that logs hold."""
    words = [None, "", "x y", "it's", "C:\\new", "%", "complete", "stopped", "growth", "pending"]
    numbers = [None, -1.0, 0.0, 3.05, 121.0, 134.0, 203.0, 274.0, 3050.0]
    worn_row = {}
    for name, value in row.items():
        if random_.random() > chance:
            worn_row[name] = value
        elif isinstance(value, bool):
            worn_row[name] = random_.choice([True, None])
        elif isinstance(value, int | float):
            worn_row[name] = random_.choice(numbers)
        elif re.fullmatch(r"\d{4}-.*", value):
            day = datetime.fromisoformat(value) + timedelta(days=random_.choice([-900, -1, 1, 60]))
            worn_row[name] = random_.choice([None, day, day])
        else:
            worn_row[name] = random_.choice(words)
    return worn_row


def put_worn(con, put, examples, table, seed):
    random_ = random.Random(seed)
    row = examples[table]["row"]
    rows = [worn(row, 0.15, random_) | {"line": random_.randint(2, 2000)} for _ in range(ROW_COUNT)]
    put(table, rows[:200], "file-1")
    put(table, rows[200:], "file-2")


TABLES_AND_SEEDS = [
    ("cycle", 1),
    ("cycle", 2),
    ("cycle", 3),
    ("reading", 4),
    ("test", 5),
    ("task", 6),
]


@pytest.mark.parametrize(("table", "seed"), TABLES_AND_SEEDS)
def test_the_rows_found_for_a_rule_are_as_many_as_great_expectations_counted(
    con, put, examples, table, seed
):
    put_worn(con, put, examples, table, seed)
    batch = new_rows(con, table, ["file-1", "file-2"])
    suite = [rule for rule in rules() if rule.table_name == table]
    outcomes = run_suite(con, batch, suite)
    found = {
        one.rule.rule_id: con.execute(f"SELECT count(DISTINCT row_id) FROM ({one.rows})").fetchone()
        for one in outcomes
        if one.failed_count
    }
    counted = {one.rule.rule_id: (one.failed_count,) for one in outcomes if one.failed_count}
    assert found == counted
    assert len(counted) > len(suite) / 2, "too few rules were broken to show anything"
    assert all(one.failed_count <= one.row_count for one in outcomes)


def broken_by(rule, row):
    """The plain types of rules, judged once more in Python."""
    value = row[rule.settings["column"]]
    if rule.type == "expect_column_values_to_not_be_null":
        return value is None
    if value is None:
        return False
    if rule.type == "expect_column_values_to_be_in_set":
        return value not in rule.settings["value_set"]
    if rule.type == "expect_column_values_to_match_regex":
        return not re.search(rule.settings["regex"], value)
    return not rule.settings["min_value"] <= value <= rule.settings["max_value"]


@pytest.mark.parametrize(("table", "seed"), TABLES_AND_SEEDS)
def test_great_expectations_counts_what_python_counts(con, put, examples, table, seed):
    put_worn(con, put, examples, table, seed)
    batch = new_rows(con, table, ["file-1", "file-2"])
    result = con.execute(f"FROM {batch.relation}")
    names = [column[0] for column in result.description]
    rows = [dict(zip(names, row, strict=True)) for row in result.fetchall()]
    suite = [rule for rule in rules() if rule.table_name == table and "column" in rule.settings]
    counted = {one.rule.rule_id: one.failed_count for one in run_suite(con, batch, suite)}
    assert counted == {rule.rule_id: sum(broken_by(rule, row) for row in rows) for rule in suite}


@pytest.mark.parametrize(("table", "seed"), TABLES_AND_SEEDS)
def test_no_row_is_lost_and_none_is_both_used_and_held(con, put, examples, table, seed):
    put_worn(con, put, examples, table, seed)
    con.execute(f"CREATE TABLE main.arrived AS SELECT file_id, line FROM stage.{table}")
    check_rows(con, ["file-1", "file-2"])
    lost = con.execute(
        f"""
        FROM main.arrived
        ANTI JOIN stage.{table} USING (file_id, line)
        ANTI JOIN stage.held USING (file_id, line)
        """
    ).fetchall()
    both = con.execute(f"FROM stage.{table} SEMI JOIN stage.held USING (file_id, line)").fetchall()
    warned = con.execute("FROM stage.warned SEMI JOIN stage.held USING (file_id, line)").fetchall()
    assert (lost, both, warned) == ([], [], [])
    assert con.execute(f"SELECT count(*) FROM stage.{table}").fetchone() > (0,)
    assert con.execute("SELECT count(*) FROM stage.held").fetchone() > (0,)


def test_a_held_row_says_what_stood_where_and_what_to_do(con, put, examples):
    row = examples["cycle"]["row"] | {"set_celsius": 273.2, "program": "a" * 300}
    put("cycle", [examples["cycle"]["row"], row | {"started": "2026-07-02 09:00", "month": None}])
    check_rows(con, ["file-1"])
    held = con.execute(
        "SELECT line, rule_id, column_name, found FROM stage.held ORDER BY rule_id"
    ).fetchall()
    assert held == [
        (3, "CYC-06", "program", "a" * 200),
        (3, "CYC-09", None, None),
        (3, "CYC-10", "ended", "2026-03-02 09:45:00"),
        (3, "CYC-13", "started", "2026-07-02 09:00"),
        (3, "CYC-14", "set_celsius", "273.2"),
    ]
    [(message,)] = con.execute("SELECT message FROM stage.held WHERE rule_id = 'CYC-14'").fetchall()
    assert message == (
        "The temperature asked for is in °C: not so here. "
        "Steam sterilizers stay under 150 °C; 250 to 275 can only be °F (121 to 135 °C). "
        'State unit = "degF" for this column in network.toml.'
    )


def test_rows_that_are_not_as_many_as_were_counted_stop_the_work(con, put, examples):
    put("cycle", [examples["cycle"]["row"] | {"outcome": None}])
    batch = new_rows(con, "cycle", ["file-1"])
    [rule] = [rule for rule in rules() if rule.rule_id == "CYC-07"]
    wrong = Outcome(rule, 1, 2, rows=f"SELECT * FROM {batch.relation} WHERE outcome IS NULL")
    with pytest.raises(CheckError, match="CYC-07 counted 2 rows and 1 were found"):
        hold_rows(con, batch, [wrong])
    assert con.execute("SELECT count(*) FROM stage.cycle").fetchone() == (1,)
