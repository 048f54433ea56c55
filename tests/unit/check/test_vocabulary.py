"""The words of the suites are those of the model and of the practice profiles."""

import re
import tomllib

import pytest

from pipeline.base.assets import asset
from pipeline.config.rules import rules
from pipeline.warehouse.statements import statement

RULE = {rule.rule_id: rule for rule in rules()}


def words(rule_id):
    return set(RULE[rule_id].settings["value_set"])


def test_the_programs_are_those_that_the_model_knows(con):
    known = con.execute(statement("model", "program").text).fetchall()
    assert words("CYC-06") == {program for program, _ in known}


def test_the_reasons_of_a_stop_are_those_that_the_model_knows(con):
    known = con.execute(statement("model", "stop_reason").text).fetchall()
    assert words("CYC-32") == {reason for reason, _ in known}


@pytest.mark.parametrize("rule_id", ["CYC-22", "CYC-23", "CYC-24", "CYC-25", "CYC-34", "CYC-44"])
def test_a_rule_on_loads_judges_the_load_cycles_of_the_model_and_no_others(con, rule_id):
    con.execute(f"CREATE TABLE main.program AS {statement('model', 'program').text}")
    [is_load] = re.findall(r"program NOT LIKE .*? NOT IN \(.*?\)", RULE[rule_id].applies_when)
    wrong = con.execute(f"FROM main.program WHERE is_load_cycle <> ({is_load})").fetchall()
    assert wrong == []


def test_a_task_that_a_profile_asks_for_is_one_that_a_log_may_name(con):
    asked = {
        task["task"]
        for path in asset("expectations", "practice").glob("*.toml")
        for task in tomllib.loads(path.read_text("utf-8")).get("task", [])
    }
    condition = RULE["TSK-12"].settings["unexpected_rows_query"].split(" AND ")[-1]
    assert condition.startswith("task NOT IN")
    unknown = [
        task
        for task in sorted(asked)
        if con.execute(f"SELECT {condition} FROM (SELECT ? AS task)", [task]).fetchone() == (True,)
    ]
    assert asked
    assert unknown == []
