"""Profiles that a network keeps beside its declarations, in the folder practice/."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.practice.profiles import load_profiles
from pipeline.practice.rules import SporeRule, TaskRule
from pipeline.practice.shelf import all_profiles, local_fingerprint, profile_names

HEAD = """
title = "Our rule"
asks = "What we decided."
jurisdiction = "ours"
reviewed_on = 2026-02-01
"""
SPORE = """
[[spore]]
kind = "interval_days"
days = {days}
source = "our own decision"
confidence = "policy"
"""


@pytest.fixture
def network(network_of, tmp_path):
    """A network in a folder of its own, whose one site follows a profile of the folder."""
    (tmp_path / "practice").mkdir()
    return replace(network_of(quay="our-rule"), folder=tmp_path)


def say(network, text: str, name: str = "our-rule") -> None:
    (network.folder / "practice" / f"{name}.toml").write_text(text, encoding="utf-8")


def inherits(name: str) -> str:
    return HEAD + f'inherits = "{name}"\n'


def faults_of(network) -> list[str]:
    with pytest.raises(ConfigurationError) as raised:
        load_profiles(network)
    return raised.value.faults


def test_a_network_inherits_a_shipped_profile_and_changes_one_rule(network):
    say(network, inherits("us-cdc-dental") + SPORE.format(days=5))

    assert "our-rule" in profile_names(network.folder)
    (profile,) = load_profiles(network).values()
    assert profile.parents == ("us-cdc-dental", "weekly", "care-of-units")
    assert [rule.days for rule in profile.of(SporeRule) if rule.rule == "routine"] == [5]
    assert len(profile.of(TaskRule)) == 8


def test_the_example_of_the_readme_is_a_profile(network):
    readme = (Path(__file__).parents[3] / "README.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```toml\n(title = .+?)```", readme, re.DOTALL)
    say(network, example)

    profile = load_profiles(network)["our-rule"]
    assert profile.parents[0] == "us-cdc-dental"
    assert [less.rule.name for less in profile.loosenings] == ["gasket_replace"]


def test_a_network_may_inherit_a_profile_of_its_own(network):
    say(network, inherits("weekly") + SPORE.format(days=6), "group")
    say(network, inherits("group"))

    assert load_profiles(network)["our-rule"].parents == ("group", "weekly", "care-of-units")


def test_a_profile_that_stands_alone_has_nothing_else(network):
    say(network, HEAD + SPORE.format(days=5))

    assert len(load_profiles(network)["our-rule"].rules) == 1


def test_asking_for_less_than_a_shipped_profile_needs_a_reason(network):
    say(network, inherits("weekly") + SPORE.format(days=14))
    (fault,) = faults_of(network)
    assert fault.startswith('our-rule.toml: "spore/routine" asks for less than "weekly" does')

    say(network, inherits("weekly") + SPORE.format(days=14) + 'reason = "Nobody works here."\n')
    (less,) = load_profiles(network)["our-rule"].loosenings
    assert less.reason == "Nobody works here."


def test_an_empty_reason_is_none(network):
    say(network, inherits("weekly") + SPORE.format(days=14) + 'reason = ""\n')

    assert faults_of(network) == [
        "our-rule.toml: [[spore]] 1: has reason = '', which is too little to go by."
    ]


def test_a_shipped_profile_is_inherited_and_never_replaced(network):
    say(network, HEAD + SPORE.format(days=90), "weekly")
    say(network, inherits("weekly"))

    assert faults_of(network) == [
        "weekly.toml: has the name of a profile that ships; rename it, and let it inherit that one."
    ]
    assert [rule.days for rule in all_profiles()["weekly"].of(SporeRule)] == [7]


def test_the_mark_that_an_editor_puts_before_a_text_is_no_fault(network):
    say(network, "\ufeff" + inherits("weekly"))

    assert load_profiles(network)["our-rule"].title == "Our rule"


def test_a_folder_that_is_called_like_a_profile_is_none(network):
    say(network, inherits("weekly"))
    (network.folder / "practice" / "old.toml").mkdir()

    assert "old" not in profile_names(network.folder)
    assert local_fingerprint(network.folder)


def test_a_name_that_could_be_no_part_of_an_address_is_refused(network):
    say(network, HEAD, "Our Rule")

    assert "Our Rule.toml: use a-z, 0-9 and dashes for the name of a profile." in faults_of(network)


def test_every_fault_of_every_file_is_told_at_once_also_of_profiles_that_nobody_follows(network):
    say(
        network, inherits("weekly") + SPORE.format(days=0) + "[[drop]]\nrule = 'task'\nreason = 'x'"
    )
    say(network, inherits("weakly"), "other")
    say(network, "title =", "torn")

    assert faults_of(network) == [
        "our-rule.toml: [[spore]] 1: has days = 0; write a number from 1 to 99,999.",
        'our-rule.toml: [[drop]] 1: has rule = "task"; write table and name, as in '
        '"task/deep_clean".',
        "torn.toml: is not TOML: Invalid value (at end of document).",
        'other.toml: inherits "weakly", which is no profile. Did you mean "weekly"?',
    ]


def test_a_profile_for_others_to_inherit_is_not_for_a_site(network_of):
    assert faults_of(network_of(quay="care-of-units"))[0].startswith(
        'sites.csv: site "quay": follows the practice "care-of-units", which is for other profiles '
        "to inherit."
    )


def test_periods_that_overlap_are_told_with_what_to_write(network):
    dated = SPORE.format(days=5) + "valid_from = 2026-01-01\nvalid_to = 2026-06-01\n"
    say(network, inherits("weekly") + dated + SPORE.format(days=6) + "valid_from = 2026-05-01\n")

    assert faults_of(network) == [
        'our-rule.toml: "spore/routine" holds until 2026-06-01 and again from 2026-05-01; let the '
        "first end on the day on which the second begins."
    ]


def test_periods_may_touch_or_leave_days_to_the_inherited_rule(network):
    spans = [("2026-01-01", "2026-03-01"), ("2026-03-01", "2026-06-01"), ("2026-09-01", None)]
    text = inherits("weekly")
    for days, (first, last) in enumerate(spans, start=4):
        text += SPORE.format(days=days) + f"valid_from = {first}\n"
        text += f"valid_to = {last}\n" if last else ""
    say(network, text)

    rules = load_profiles(network)["our-rule"].of(SporeRule)
    assert [(rule.days, str(rule.valid_from), str(rule.valid_to)) for rule in rules] == [
        (7, "0001-01-01", "2026-01-01"),
        (4, "2026-01-01", "2026-03-01"),
        (5, "2026-03-01", "2026-06-01"),
        (7, "2026-06-01", "2026-09-01"),
        (6, "2026-09-01", "None"),
    ]


def test_a_rule_ends_where_the_next_of_its_name_begins(network):
    text = SPORE.format(days=5) + "valid_from = 2026-01-01\n"
    text += SPORE.format(days=6) + "valid_from = 2026-05-01\n"
    say(network, inherits("weekly") + text)

    rules = load_profiles(network)["our-rule"].of(SporeRule)
    assert [(rule.days, str(rule.valid_to)) for rule in rules] == [
        (7, "2026-01-01"),
        (5, "2026-05-01"),
        (6, "None"),
    ]


def test_a_period_that_ends_before_it_begins_is_told(network):
    dated = SPORE.format(days=5) + "valid_from = 2026-01-01\nvalid_to = 2026-01-01\n"
    say(network, inherits("weekly") + dated)

    assert faults_of(network) == [
        'our-rule.toml: "spore/routine" has valid_to 2026-01-01, which is not after valid_from '
        "2026-01-01; write the day after the last on which it holds."
    ]


def test_a_rule_and_its_being_dropped_on_the_same_day_are_told(network):
    drop = '[[drop]]\nrule = "spore/routine"\nreason = "No."\n'
    say(network, inherits("weekly") + SPORE.format(days=5) + drop)

    assert faults_of(network) == [
        'our-rule.toml: says "spore/routine" twice without a valid_from; keep one of the two, or '
        "give the later one a valid_from of its own."
    ]


def test_the_fingerprint_changes_with_a_file_its_name_and_nothing_else(network):
    empty = local_fingerprint(network.folder)
    say(network, HEAD)
    one = local_fingerprint(network.folder)
    (network.folder / "practice" / "notes.txt").write_text("not a profile", encoding="utf-8")

    assert local_fingerprint(network.folder) == one != empty
    (network.folder / "practice" / "our-rule.toml").rename(network.folder / "practice" / "x.toml")
    assert local_fingerprint(network.folder) not in (one, empty)
