"""Each rule beside a row that keeps it and a row that breaks it; a rule without both is a fault."""

import pytest

from pipeline.check.verify import check_rows
from pipeline.config.kinds import KINDS
from pipeline.config.rules import rules


def rows_of(examples, rule, which):
    """The example rows, each the good row with some columns changed."""
    suite = examples[rule.table_name]
    changes = suite[rule.rule_id].get(which, {})
    return [suite["row"] | one for one in (changes if isinstance(changes, list) else [changes])]


def test_every_rule_has_a_bad_example_and_every_example_a_rule(examples):
    told = {name for suite in examples.values() for name in suite if name != "row"}
    assert told == {rule.rule_id for rule in rules()}
    assert all(
        "bad" in one for suite in examples.values() for name, one in suite.items() if name != "row"
    )


@pytest.mark.parametrize("rule", rules(), ids=lambda rule: rule.rule_id)
def test_a_rule_passes_its_good_rows(con, put, examples, rule):
    put(rule.table_name, rows_of(examples, rule, "good"))
    [run] = check_rows(con, ["file-1"], [rule])
    assert (run.verdict, run.failed_count) == ("pass", 0)
    assert run.row_count > 0


@pytest.mark.parametrize("rule", rules(), ids=lambda rule: rule.rule_id)
def test_a_rule_catches_its_bad_rows(con, put, examples, rule):
    put(rule.table_name, rows_of(examples, rule, "bad"))
    [run] = check_rows(con, ["file-1"], [rule])
    assert run.verdict == {"critical": "fail", "warning": "warn"}[rule.severity]
    assert 0 < run.failed_count <= run.row_count
    assert run.message is None


@pytest.mark.parametrize("table", KINDS)
def test_a_good_row_breaks_no_rule_at_all(con, put, examples, table):
    put(table, [examples[table]["row"]])
    assert not [run for run in check_rows(con, ["file-1"]) if run.failed_count]


@pytest.mark.parametrize("table", KINDS)
def test_a_bad_row_is_held_by_its_critical_rule_and_noted_by_its_warning(con, put, examples, table):
    """All bad rows of a table at once, each in a file of its own that bears the rule's id.

    Those of a warning break no critical rule beside it, or they would not show that it warns.
    """
    suite = [rule for rule in rules() if rule.table_name == table]
    for rule in suite:
        put(table, rows_of(examples, rule, "bad"), rule.rule_id)
    check_rows(con, [rule.rule_id for rule in suite])
    caught = con.execute(
        """
        SELECT 'critical', file_id FROM stage.held WHERE rule_id = file_id
        UNION
        SELECT 'warning', file_id FROM stage.warned WHERE rule_id = file_id
        """
    ).fetchall()
    assert set(caught) == {(rule.severity, rule.rule_id) for rule in suite}
    held = set(con.execute("SELECT DISTINCT file_id FROM stage.held").fetchall())
    assert held == {(rule.rule_id,) for rule in suite if rule.severity == "critical"}
