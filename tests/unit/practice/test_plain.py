"""Rules in plain words."""

from datetime import date

import pytest

from pipeline.base.message import spoken, verbatim
from pipeline.practice.plain import asks, days_of, in_order, unsure, what
from pipeline.practice.shelf import all_profiles
from tests.unit.practice.made_up import event, response, retention, routine, spore, task

LATE = "; a result is late after 14 days"


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        (spore(days=7), f"at least every 7 days{LATE}"),
        (spore(days=1, result_days=1), "at least every day; a result is late after 1 day"),
        (spore(days=7, grace_days=1), f"at least every 7 days; overdue 1 day later{LATE}"),
        (
            spore(days=7, is_paused_when_closed=True),
            f"at least every 7 days; closed days do not count{LATE}",
        ),
        (
            spore(kind="calendar_week"),
            f"in each calendar week of use, which begins on Monday{LATE}",
        ),
        (
            spore(kind="calendar_week", week_starts=7),
            f"in each calendar week of use, which begins on Sunday{LATE}",
        ),
        (
            spore(kind="use_day", is_per_program=True),
            f"on each day of use; for each program in use{LATE}",
        ),
        (
            spore(kind="minutes_or_days", minutes=2400, days=30),
            f"at least every 2,400 minutes of running or 30 days{LATE}",
        ),
        (
            spore(kind="days_or_cycles", days=182, cycles=400),
            f"at least every 182 days or 400 cycles{LATE}",
        ),
        (
            spore(kind="days_by_use", days=91, busy_days=30, busy_cycles=200),
            "at least every 91 days, and every 30 days where more than 200 load cycles were run in "
            f"as long a time{LATE}",
        ),
        (spore(kind="per_load", rule="implant"), f"with each load{LATE}"),
        (spore(kind="not_asked"), "none asked as a routine"),
        (response(test_count=3), "on the first growth; 3 clear tests, one after another"),
        (
            response(condition="second_growth", within_days=0),
            "when a repeat grew too; on the same day",
        ),
        (response(within_days=2), "on the first growth; within 2 days"),
        (event(), "1 clear spore test"),
        (
            event(test="steam_penetration", test_count=3, applies_to="vacuum"),
            "3 passed steam penetration tests, one after another; units that pull a vacuum",
        ),
        (
            event(event="idle", idle_days=28, test="leak", is_per_program=True),
            "after 28 days unused; 1 passed leak test; for each program in use",
        ),
        (routine(), "on each day of use"),
        (
            routine(kind="interval_days", days=91, grace_days=14, applies_to="vacuum"),
            "at least every 91 days; overdue 14 days later; units that pull a vacuum",
        ),
        (
            task(days=30, cycles=100, grace_days=7),
            "at least every 30 days or 100 cycles; overdue 7 days later",
        ),
        (task(cycles=1), "at least every cycle"),
        (
            task(days=365, act_now_days=30),
            "at least every 365 days; act now when more than 30 days past due",
        ),
        (task(days=365, act_now_days=0), "at least every 365 days; act now when overdue"),
        (retention(years=2), "2 years from the record"),
        (
            retention(keep="calendar_years", years=2),
            "the record's calendar year and 2 more",
        ),
        (retention(keep="life_of_unit"), "as long as the unit lives"),
    ],
)
def test_a_rule_says_what_it_asks_for(rule, said):
    assert spoken(asks(rule)) == said


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        (spore(), "Routine spore test"),
        (response(step="requalify"), "Requalify the unit"),
        (event(), "After a repair"),
        (routine(), "Automatic control test"),
        (task(task="deep_clean"), "Deep clean"),
        (retention(), "Records of cycles"),
    ],
)  # fmt: skip
def test_a_rule_says_what_it_is_about(rule, said):
    assert spoken(what(rule)) == said


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (date.min, None, ""),
        (date(2026, 3, 1), None, "from 2026-03-01"),
        (date.min, date(2026, 3, 1), "until 2026-03-01"),
        (date(2026, 3, 1), date(2026, 6, 1), "from 2026-03-01 until 2026-06-01"),
    ],
)
def test_a_rule_says_from_when_and_until_when_it_holds(first, last, said):
    assert days_of(spore(valid_from=first, valid_to=last)) == said


@pytest.mark.parametrize(
    ("confidences", "begins"),
    [
        ([], ""),
        (["read", "policy"], ""),
        (["read", "memory"], "1 of 2 rules was not read where it is published"),
        (["reported", "common_practice", "derived", "read"], "3 of 4 rules were not read"),
    ],
)
def test_a_profile_says_how_many_of_its_rules_were_not_read(confidences, begins):
    said = spoken(unsure(confidences) or verbatim(""))
    assert said.startswith(begins)
    assert bool(said) == bool(begins)


def test_every_rule_that_ships_has_words():
    for profile in all_profiles().values():
        for rule in profile.rules:
            assert spoken(what(rule))[0].isupper()
            assert spoken(asks(rule))


def test_routine_spore_tests_are_printed_before_those_of_implants():
    implant = spore(rule="implant", kind="per_load")
    assert in_order([implant, spore(days=7)]) == [spore(days=7), implant]


def test_rules_are_printed_kind_by_kind_and_steps_in_the_order_in_which_they_are_taken():
    steps = [response(step="review", place=2), response(step="out_of_service", place=1)]
    rules = [task(), *steps, spore(days=7, valid_from=date(2026, 3, 1)), spore(days=8)]

    assert in_order(rules) == [rules[4], rules[3], steps[1], steps[0], rules[0]]
