"""A suite that is not exactly as it must be is refused: Great Expectations would drop the check."""

import json
import shutil

import pytest

from pipeline.base.assets import asset
from pipeline.base.errors import ConfigurationError
from pipeline.config.kinds import KINDS, kind
from pipeline.config.rules import rules


@pytest.fixture
def suites(tmp_path):
    """A copy of the suites, and a way to change one expectation by its id."""
    folder = tmp_path / "data"
    shutil.copytree(asset("expectations", "data"), folder)

    def change(rule_id, **changes):
        for path in folder.glob("*.json"):
            suite = json.loads(path.read_text("utf-8"))
            for expectation in suite["expectations"]:
                if expectation["meta"]["id"] == rule_id:
                    expectation["meta"] |= changes.pop("meta", {})
                    expectation |= changes
                    path.write_text(json.dumps(suite), "utf-8")

    change.folder = folder
    return change


def faults(folder):
    with pytest.raises(ConfigurationError) as raised:
        rules(folder)
    return raised.value.faults


def test_there_is_a_suite_for_every_staged_table_and_thirty_rules_or_more():
    found = rules()
    assert {rule.table_name for rule in found} == set(KINDS)
    assert len(found) >= 30
    assert len({rule.rule_id for rule in found}) == len(found)


@pytest.mark.parametrize("rule", rules(), ids=lambda rule: rule.rule_id)
def test_a_rule_says_what_why_and_what_to_do_in_sentences(rule):
    assert rule.severity in {"critical", "warning"}
    assert not rule.title.endswith(".")
    assert rule.why.endswith(".")
    assert rule.fix.endswith(".")
    assert rule.column_name is None or rule.column_name in kind(rule.table_name).targets


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        (
            {"type": "expect_column_values_to_be_in_sett"},
            'there is no type "expect_column_values_to_be_in_sett". '
            'Did you mean "expect_column_values_to_be_in_set"?',
        ),
        ({"severity": "fatal"}, 'severity is "fatal"; write critical or warning.'),
        ({"severity": "info"}, 'severity is "info"; write critical or warning.'),
        (
            {"kwargs": {"column": "program", "value_set": ["pouch"], "mostly": 0.9}},
            "kwargs must be column, value_set, no more and no less.",
        ),
        (
            {"kwargs": {"column": "programme", "value_set": ["pouch"]}},
            'stage.cycle has no column "programme". Did you mean "program"?',
        ),
        ({"meta": {"why": " "}}, 'meta has no "why".'),
        ({"meta": {"note": "x"}}, 'meta has a word "note" that nothing reads.'),
    ],
    ids=lambda part: part if isinstance(part, str) else "",
)
def test_what_great_expectations_would_drop_or_bend_is_refused(suites, changes, fault):
    suites("CYC-06", **changes)
    assert faults(suites.folder) == [f"cycle.json, expectation 6 (CYC-06): {fault}"]


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        (
            {"kwargs": {"unexpected_rows_query": "SELECT * FROM stage.cycle"}},
            "the query must read {batch}, which stands for the new rows.",
        ),
        ({"meta": {"applies_when": ""}}, 'meta has no "applies_when".'),
        (
            {"meta": {"column": "ended_utc"}},
            'no feed fills a column "ended_utc". Did you mean "ended"?',
        ),
    ],
    ids=["reads history", "judges nothing", "names no target"],
)
def test_a_query_says_what_it_reads_and_what_it_can_judge(suites, changes, fault):
    suites("CYC-11", **changes)
    assert faults(suites.folder) == [f"cycle.json, expectation 11 (CYC-11): {fault}"]


def test_every_fault_is_told_at_once(suites):
    suites("CYC-06", severity="fatal")
    suites("TSK-02", meta={"id": "TSK-03"})
    (suites.folder / "closure.json").write_text("{", "utf-8")
    (suites.folder / "cycles.json").write_text("{}", "utf-8")
    told = faults(suites.folder)
    assert len(told) == 4
    assert told[0].startswith("cycle.json, expectation 6 (CYC-06): severity")
    assert told[1].startswith("closure.json: is not a suite that can be read (JSONDecodeError")
    assert told[2:] == [
        'expectations/data: the id "TSK-03" is given to more than one rule.',
        'cycles.json: there is no such table. Did you mean "cycle"?',
    ]


def test_a_suite_that_is_missing_is_a_fault(suites):
    (suites.folder / "test.json").unlink()
    [fault] = faults(suites.folder)
    assert fault.startswith("test.json: is not a suite that can be read (FileNotFoundError")
