from pathlib import Path

import pytest

from pipeline.config.faults import Faults
from pipeline.practice.read import read_profile
from pipeline.practice.rules import EVER_SINCE, SporeRule, TaskRule

GOOD = """
title = "Made up"
asks = "A test every ten days."
jurisdiction = "nobody's"
reviewed_on = 2026-01-31

[[spore]]
kind = "interval_days"
days = 10
grace_days = 1
source = "made up for a test"
confidence = "common_practice"

[[task]]
task = "service"
cycles = 900
grace_days = 0
who = "engineer"
source = "made up for a test"
confidence = "common_practice"
"""


def faults_of(folder: Path, text: str) -> list[str]:
    path = folder / "local.toml"
    path.write_text(text, encoding="utf-8")
    faults = Faults()
    profile = read_profile(path, faults)
    assert (profile is None) == bool(faults.sentences)
    return faults.sentences


def test_a_profile_is_read_as_written(tmp_path):
    (tmp_path / "local.toml").write_text(GOOD, encoding="utf-8")
    profile = read_profile(tmp_path / "local.toml", Faults())

    assert profile is not None
    assert (profile.name, profile.title, profile.inherits) == ("local", "Made up", None)
    spore, task = profile.entries
    assert isinstance(spore, SporeRule)
    assert (spore.rule, spore.kind, spore.days, spore.grace_days) == (
        "routine", "interval_days", 10, 1,
    )  # fmt: skip
    assert (spore.valid_from, spore.valid_to, spore.declared_by) == (EVER_SINCE, None, "local")
    assert isinstance(task, TaskRule)
    assert (task.task, task.days, task.cycles, task.act_now_days) == ("service", None, 900, None)
    assert not task.is_paused_when_closed


@pytest.mark.parametrize(
    ("written", "instead", "fault"),
    [
        (
            "days = 10",
            "days = 0",
            "local.toml: [[spore]] 1: has days = 0; write a number from 1 to 99,999.",
        ),
        ("days = 10", "days = true", "local.toml: [[spore]] 1: has days = True; write a whole"),
        ("days = 10", 'days = "10"', "local.toml: [[spore]] 1: has days = '10'; write a whole"),
        ('confidence = "common_practice"', "", "local.toml: [[spore]] 1: does not say confidence"),
        ("grace_days = 1", "grace_days = -1", "local.toml: [[spore]] 1: has grace_days = -1"),
        (
            '"interval_days"',
            '"interval_day"',
            'local.toml: [[spore]] 1: has kind = "interval_day". Did you mean "interval_days"?',
        ),
        ("2026-01-31", "2026-01-31T10:00:00", "local.toml: has reviewed_on = datetime"),
        ('"Made up"', '""', "local.toml: has title = '', which is too little"),
        ('"engineer"', '"enginer"', 'local.toml: [[task]] 1: has who = "enginer". Did you mean'),
        ("cycles = 900", "cicles = 900", 'local.toml: [[task]] 1: has no setting "cicles". Did'),
        ("[[spore]]", "[[spores]]", 'local.toml: has no table "spores". Did you mean "spore"?'),
        ("title =", "title", "local.toml: is not TOML"),
        (
            "days = 10",
            'days = 10\nact_now_days = "x"',
            'local.toml: [[spore]] 1: has no setting "act_now_days". Did you mean "grace_days"?',
        ),
        ('task = "service"', "task = [1]", "local.toml: [[task]] 1: has task = [1]; write a text."),
        (
            'task = "service"',
            'task = "servise"',
            'local.toml: [[task]] 1: has task = "servise", which no page has a name for. '
            'Did you mean "service"?',
        ),
        (
            "days = 10",
            "days = 10\nweek_starts = 8",
            "local.toml: [[spore]] 1: has week_starts = 8; write a number from 1 to 7.",
        ),
        (
            'title = "Made up"',
            'title = "Made up"\ndeclared_by = "me"',
            'local.toml: has no setting "declared_by".',
        ),
    ],
)
def test_each_fault_is_told_with_its_place(tmp_path, written, instead, fault):
    assert written in GOOD
    faults = faults_of(tmp_path, GOOD.replace(written, instead, 1))

    assert any(one.startswith(fault) for one in faults), faults


def test_every_fault_is_told_at_once(tmp_path):
    text = GOOD.replace("days = 10", "days = 0").replace('"engineer"', '"robot"')

    assert len(faults_of(tmp_path, text)) == 2


def test_a_task_asked_for_twice_is_a_fault(tmp_path):
    task = GOOD[GOOD.index("[[task]]") :]

    assert faults_of(tmp_path, GOOD + task) == [
        'local.toml: says "task/service" twice without a valid_from; keep one of the two, or give '
        "the later one a valid_from of its own."
    ]


@pytest.mark.parametrize("value", ["3", "{ days = 3 }"])
def test_a_list_of_rules_that_is_no_list_is_a_fault_not_a_crash(tmp_path, value):
    text = f"task = {value}\n" + GOOD[: GOOD.index("[[task]]")]

    (fault,) = faults_of(tmp_path, text)
    assert fault.endswith("; write [[task]] and its settings below.")


def test_a_rule_that_is_no_table_is_a_fault_not_a_crash(tmp_path):
    text = "task = [3]\n" + GOOD[: GOOD.index("[[task]]")]

    assert faults_of(tmp_path, text) == [
        "local.toml: [[task]] 1: is 3; write [[task]] and its settings below."
    ]
