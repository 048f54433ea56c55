from pathlib import Path

import pytest

from pipeline.config.faults import Faults
from pipeline.practice.read import read_profile

GOOD = """
title = "Made up"
asks = "A test every ten days."
reviewed_on = 2026-01-31

[spore]
kind = "interval_days"
days = 10
grace_days = 1
source = "made up for a test"

[[task]]
task = "service"
cycles = 900
grace_days = 0
who = "engineer"
source = "made up for a test"
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
    assert (profile.name, profile.title, profile.spore.days) == ("local", "Made up", 10)
    (task,) = profile.tasks
    assert (task.task, task.days, task.cycles, task.act_now_days) == ("service", None, 900, None)
    assert not task.is_paused_when_closed


@pytest.mark.parametrize(
    ("written", "instead", "fault"),
    [
        ("days = 10", "days = 0", "local.toml: [spore]: has days = 0, which is too little"),
        ("days = 10", "days = true", "local.toml: [spore]: has days = True; write a whole number"),
        ("days = 10", 'days = "10"', "local.toml: [spore]: has days = '10'; write a whole number"),
        ("grace_days = 1", "", "local.toml: [spore]: does not say grace_days"),
        ("grace_days = 1", "grace_days = -1", "local.toml: [spore]: has grace_days = -1"),
        (
            '"interval_days"',
            '"calendar_week"',
            'local.toml: [spore]: has kind = "calendar_week". Known: interval_days.',
        ),
        ("2026-01-31", "2026-01-31T10:00:00", "local.toml: has reviewed_on = datetime"),
        ('"Made up"', '""', "local.toml: has title = '', which is too little"),
        (
            "cycles = 900",
            "",
            "local.toml: [[task]] 1: is due after neither days nor cycles; write one",
        ),
        ('"engineer"', '"enginer"', 'local.toml: [[task]] 1: has who = "enginer". Did you mean'),
        ("cycles = 900", "cicles = 900", 'local.toml: [[task]] 1: has no setting "cicles". Did'),
        ("[spore]", "[spores]", 'local.toml: has no setting "spores". Did you mean "spore"?'),
        ("title =", "title", "local.toml: is not TOML"),
        (
            "days = 10",
            'days = 10\nact_now_days = "x"',
            'local.toml: [spore]: has no setting "act_now_days". Did you mean "grace_days"?',
        ),
        ('task = "service"', "task = [1]", "local.toml: [[task]] 1: has task = [1]; write a text."),
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
        'local.toml: [[task]] 2: asks for "service" a second time; keep one of the two.'
    ]


def test_a_task_list_that_is_no_list_is_a_fault_not_a_crash(tmp_path):
    text = "task = 3\n" + GOOD[: GOOD.index("[[task]]")]

    assert faults_of(tmp_path, text) == ["local.toml: has task = 3; write a list."]


def test_a_task_that_is_no_table_is_a_fault_not_a_crash(tmp_path):
    text = "task = [3]\n" + GOOD[: GOOD.index("[[task]]")]

    assert faults_of(tmp_path, text) == [
        "local.toml: [[task]] 1: is 3; write [[task]] and its settings below."
    ]


def test_a_spore_table_that_is_no_table_is_a_fault_not_a_crash(tmp_path):
    text = "spore = 7\n" + GOOD[: GOOD.index("[spore]")] + GOOD[GOOD.index("[[task]]") :]

    assert faults_of(tmp_path, text) == ["local.toml: has spore = 7; write a table."]
