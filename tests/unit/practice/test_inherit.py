"""What a profile makes of what it inherits: replaced, kept, dropped, dated, and owned up to."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.config.faults import Faults
from pipeline.practice.inherit import inherit
from pipeline.practice.profile import Declared, Dropped, Profile
from pipeline.practice.rules import Rule, SporeRule, TaskRule
from tests.unit.practice.made_up import declared, response, spore, task

STEADY = settings(derandomize=True, deadline=None)

MARCH, JUNE = date(2026, 3, 1), date(2026, 6, 1)
BASE = declared("base", spore(days=7), task(days=365))


def made(*profiles: Declared) -> tuple[dict[str, Profile], list[str]]:
    faults = Faults()
    return inherit({one.name: one for one in profiles}, faults), faults.sentences


def dated(profile: Profile) -> list[tuple[int | None, date, date | None]]:
    """The days asked for between spore tests, and from when up to when."""
    return [(rule.days, rule.valid_from, rule.valid_to) for rule in profile.of(SporeRule)]


def test_a_rule_of_the_child_stands_in_place_of_the_parents_and_the_others_are_kept():
    profiles, faults = made(BASE, declared("ours", spore(days=5), inherits="base"))

    assert faults == []
    ours = profiles["ours"]
    assert [rule.days for rule in ours.of(SporeRule)] == [5]
    assert [rule.days for rule in ours.of(TaskRule)] == [365]
    assert ours.parents == ("base",)
    assert ours.loosenings == ()


def test_a_change_counts_from_its_day_and_the_parents_rule_holds_before():
    profiles, faults = made(
        BASE, declared("ours", spore(days=5, valid_from=MARCH), inherits="base")
    )

    assert faults == []
    assert dated(profiles["ours"]) == [(7, date.min, MARCH), (5, MARCH, None)]


def test_after_a_change_that_ends_the_parents_rule_holds_again():
    trial = spore(days=5, valid_from=MARCH, valid_to=JUNE)
    profiles, _ = made(BASE, declared("ours", trial, inherits="base"))

    assert dated(profiles["ours"]) == [(7, date.min, MARCH), (5, MARCH, JUNE), (7, JUNE, None)]


def test_asking_for_less_without_a_reason_is_refused_with_both_sides():
    profiles, faults = made(BASE, declared("ours", spore(days=14), inherits="base"))

    assert faults == [
        'ours.toml: "spore/routine" asks for less than "base" does: at least every 14 days; a '
        "result is late after 14 days. There it is: at least every 7 days; a result is late after "
        '14 days. Write reason = "..." beside it, or ask for as much.'
    ]


def test_a_reason_is_told_with_what_is_asked_for_less():
    rested = spore(days=14, reason="The units rest.", valid_from=MARCH)
    profiles, faults = made(BASE, declared("ours", rested, inherits="base"))

    assert faults == []
    (less,) = profiles["ours"].loosenings
    assert (less.rule.valid_from, less.rule.valid_to) == (MARCH, None)
    assert (less.ancestor.name, less.reason) == ("base", "The units rest.")
    assert isinstance(less.instead, SporeRule)
    assert less.instead.days == 14


def test_a_rule_that_is_dropped_is_gone_and_owned_up_to():
    ours = declared("ours", Dropped("task", "service", "The maker asks for none."), inherits="base")
    profiles, faults = made(BASE, ours)

    assert faults == []
    assert profiles["ours"].of(TaskRule) == ()
    (less,) = profiles["ours"].loosenings
    assert (less.rule.name, less.instead, less.reason) == (
        "service", None, "The maker asks for none.",
    )  # fmt: skip


def test_what_is_dropped_must_be_inherited():
    ours = declared("ours", Dropped("task", "servise", "No."), inherits="base")

    assert made(BASE, ours)[1] == [
        'ours.toml: drops "task/servise", which it does not inherit. Did you mean "task/service"?'
    ]


def test_a_step_after_growth_that_is_left_for_a_second_growth_is_dropped_and_needs_a_reason():
    parent = declared("base", spore(days=7), response(step="recall_since_last_negative"))
    later = response(step="recall_since_last_negative", condition="second_growth", place=2)
    drop = Dropped("response", "recall_since_last_negative/growth", "One growth may be a slip.")
    profiles, faults = made(parent, declared("ours", later, drop, inherits="base"))

    assert faults == []
    assert [less.rule.name for less in profiles["ours"].loosenings] == [
        "recall_since_last_negative/growth"
    ]


def test_less_than_a_grandparent_is_owned_up_to_with_the_parents_reason():
    profiles, faults = made(
        BASE,
        declared("loose", spore(days=14, reason="They rest."), inherits="base"),
        declared("between", spore(days=10), inherits="loose"),
        declared("tight", spore(days=7), inherits="loose"),
    )

    assert faults == []
    (less,) = profiles["between"].loosenings
    assert (less.ancestor.name, less.reason) == ("base", "They rest.")
    assert profiles["tight"].loosenings == ()


def test_every_rule_and_every_time_in_which_less_is_asked_is_owned_up_to():
    profiles, faults = made(
        BASE,
        declared(
            "ours",
            spore(days=14, valid_to=MARCH, reason="Winter."),
            spore(days=10, valid_from=JUNE, reason="Summer."),
            task(days=700, reason="It lasts."),
            inherits="base",
        ),
        declared("theirs", inherits="ours"),
    )

    assert faults == []
    for name in ("ours", "theirs"):
        assert [
            (less.rule.name, less.ancestor.name, less.rule.valid_from, less.reason)
            for less in profiles[name].loosenings
        ] == [
            ("routine", "base", date.min, "Winter."),
            ("routine", "base", JUNE, "Summer."),
            ("service", "base", date.min, "It lasts."),
        ]


def test_less_than_a_tighter_parent_needs_a_reason_even_when_more_than_the_grandparent():
    profiles, faults = made(
        BASE,
        declared("tight", spore(days=5), inherits="base"),
        declared("ours", spore(days=6), inherits="tight"),
    )

    assert len(faults) == 1
    assert faults[0].startswith('ours.toml: "spore/routine" asks for less than "tight" does')


def test_two_steps_after_growth_in_one_place_are_told():
    parent = declared("base", spore(days=7), response(step="review", place=2))
    ours = declared("ours", response(step="requalify", place=2), inherits="base")

    assert made(parent, ours)[1] == [
        'ours.toml: the steps "requalify/growth" and "review/growth" both have place 2; give one '
        "of them another."
    ]


def test_two_steps_may_have_one_place_at_different_times():
    steps = (
        response(step="review", place=2, valid_to=MARCH),
        response(step="requalify", place=2, valid_from=MARCH),
    )
    assert made(declared("ours", spore(days=7), *steps))[1] == []


def test_an_unknown_parent_is_told_once_with_what_was_meant():
    profiles, faults = made(
        BASE, declared("ours", inherits="bsae"), declared("theirs", inherits="ours")
    )

    assert faults == ['ours.toml: inherits "bsae", which is no profile. Did you mean "base"?']
    assert list(profiles) == ["base"]


def test_a_circle_is_told_once():
    _, faults = made(declared("a", inherits="b"), declared("b", inherits="a"))

    assert faults == ['a.toml: inherits in a circle: "a" from "b" from "a"; break it.']


def test_a_profile_for_sites_must_say_what_it_asks_of_spore_tests():
    _, faults = made(declared("ours", task(days=1)), replace(declared("shelf"), is_for_sites=False))

    assert faults == [
        'ours.toml: has no rule for spore tests; write [[spore]], with kind = "not_asked" for none.'
    ]


@pytest.mark.parametrize(
    ("rules", "when"),
    [
        ([spore(days=7, valid_from=MARCH)], " until 2026-03-01"),
        ([spore(days=7, valid_to=MARCH)], " from 2026-03-01"),
        (
            [spore(days=7, valid_to=MARCH), spore(days=5, valid_from=JUNE)],
            " from 2026-03-01 until 2026-06-01",
        ),
    ],
)
def test_days_without_a_rule_for_spore_tests_are_told(rules, when):
    assert made(declared("ours", *rules))[1] == [
        f"ours.toml: has no rule for spore tests{when}; let one hold then, with "
        'kind = "not_asked" for none.'
    ]


def test_one_rule_after_the_other_leaves_no_day_without():
    rules = [spore(days=7, valid_to=MARCH), spore(kind="not_asked", valid_from=MARCH)]
    implants = spore(rule="implant", kind="per_load", valid_from=JUNE)

    assert made(declared("ours", *rules, implants))[1] == []


days = st.dates(date(2026, 1, 1), date(2026, 12, 31))


def in_force(rules: tuple[Rule | Dropped, ...], on: date) -> list[Rule | Dropped]:
    return [one for one in rules if one.valid_from <= on < (one.valid_to or date.max)]


@STEADY
@given(days, days, days, st.integers(1, 60), st.integers(1, 60))
def test_on_every_day_one_rule_holds_and_the_childs_own_goes_first(first, last, on, mine, theirs):
    until = max(last, first + timedelta(days=1))
    own = spore(days=mine, valid_from=first, valid_to=until, reason="Why not.")
    parent = declared(
        "base",
        spore(days=theirs, valid_to=JUNE),
        spore(days=theirs + 1, valid_from=JUNE, reason="Less work."),
    )
    profiles, faults = made(parent, declared("ours", own, inherits="base"))

    assert faults == []
    (rule,) = in_force(profiles["ours"].rules, on)
    (expected,) = in_force((own,), on) or in_force(parent.entries, on)
    assert isinstance(rule, SporeRule)
    assert isinstance(expected, SporeRule)
    assert rule.days == expected.days


@st.composite
def tightened(draw, rule: SporeRule | TaskRule) -> SporeRule | TaskRule:
    """The rule with some of its figures moved so that more is asked."""
    least = {"days": 1, "cycles": 1, "minutes": 1, "grace_days": 0, "result_days": 1}
    smaller = {
        name: draw(st.integers(figure, value))
        for name, figure in least.items()
        if (value := getattr(rule, name, None)) is not None
    }
    smaller["grace_days"] = min(smaller["grace_days"], max(smaller.get("days", 1) - 1, 0))
    since = draw(st.just(date.min) | days)
    return replace(rule, **smaller, is_paused_when_closed=False, valid_from=since)


@STEADY
@given(st.data(), st.integers(2, 400), st.integers(0, 9), st.integers(1, 30))
def test_tightening_and_then_inheriting_never_asks_for_less(data, interval, grace, result):
    routine_test = spore(
        days=interval, grace_days=min(grace, interval - 1), result_days=result,
        is_paused_when_closed=data.draw(st.booleans()),
    )  # fmt: skip
    service = task(days=interval, cycles=500, grace_days=min(grace, interval - 1))
    parent = declared("base", routine_test, service)
    child = declared(
        "child",
        data.draw(tightened(routine_test)),
        data.draw(tightened(service)),
        inherits="base",
    )
    profiles, faults = made(parent, child, declared("grandchild", inherits="child"))

    assert faults == []
    assert profiles["child"].loosenings == profiles["grandchild"].loosenings == ()
    assert profiles["grandchild"].rules == profiles["child"].rules
