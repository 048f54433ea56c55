"""Contradictions within a rule, each told with what to write instead."""

import pytest

from pipeline.config.faults import Faults
from pipeline.practice.rules import Rule
from pipeline.practice.sound import check_sound
from tests.unit.practice.made_up import event, response, retention, routine, spore, task


def faults_of(rule: Rule) -> list[str]:
    faults = Faults()
    check_sound("here", rule, faults)
    return [sentence.removeprefix("here: ") for sentence in faults.sentences]


@pytest.mark.parametrize(
    "rule",
    [
        spore(kind="interval_days", days=7, grace_days=6),
        spore(kind="calendar_week", grace_days=6),
        spore(kind="calendar_week", week_starts=7, is_per_program=True),
        spore(kind="use_day", is_per_program=True),
        spore(kind="minutes_or_days", minutes=2400, days=30),
        spore(kind="days_or_cycles", days=182, cycles=400),
        spore(kind="days_by_use", days=91, busy_days=30, busy_cycles=200),
        spore(kind="days_by_use", days=91, busy_days=30, busy_cycles=200, grace_days=7),
        spore(kind="not_asked"),
        spore(kind="per_load", rule="implant"),
        spore(kind="not_asked", rule="implant"),
        task(days=1),
        task(cycles=1, grace_days=400),
        task(days=8, grace_days=7),
        routine(kind="per_load"),
        routine(kind="interval_days", days=91, grace_days=14),
        event(event="idle", idle_days=28),
        event(event="repair"),
        event(test="steam_penetration", applies_to="vacuum"),
        response(step="consecutive_runs", test_count=3),
        response(step="review"),
        task(days=30, grace_days=5, act_now_days=5),
        task(days=30, act_now_days=0),
        retention(keep="life_of_unit"),
        retention(keep="calendar_years", years=2),
    ],
)
def test_a_rule_that_makes_sense_has_no_fault(rule):
    assert faults_of(rule) == []


TWICE = "twice as long would be in time; write less grace, or a longer interval."


@pytest.mark.parametrize(
    ("rule", "faults"),
    [
        (
            spore(kind="calendar_week", days=7),
            ["is of kind calendar_week, which has no days; leave days out, or write kind = "
             '"interval_days" or "minutes_or_days" or "days_or_cycles" or "days_by_use".'],
        ),
        (
            spore(kind="days_by_use", days=91),
            ["is of kind days_by_use and does not say busy_cycles; it is needed.",
             "is of kind days_by_use and does not say busy_days; it is needed."],
        ),
        (
            spore(days=30, busy_days=7),
            ["is of kind interval_days, which has no busy_days; leave busy_days out, or write "
             'kind = "days_by_use".'],
        ),
        (
            spore(kind="days_by_use", days=91, busy_days=89, busy_cycles=200, grace_days=2),
            ["has busy_days = 89 and 2 days of grace, which is no less than its 91 days; write "
             "fewer."],
        ),
        (
            spore(kind="days_by_use", days=91, busy_days=30, busy_cycles=200,
                  is_paused_when_closed=True),
            ["is of kind days_by_use and paused_when_closed, and use is counted by the calendar; "
             "leave out paused_when_closed."],
        ),
        (
            spore(kind="days_by_use", days=91, busy_days=30, busy_cycles=200,
                  is_per_program=True),
            ["is of kind days_by_use and per_program, and use is counted for the whole unit; "
             "leave out per_program, or ask by days."],
        ),
        (
            spore(kind="interval_days", days=7, cycles=40),
            ["is of kind interval_days, which has no cycles; leave cycles out, or write kind = "
             '"days_or_cycles".'],
        ),
        (
            spore(kind="interval_days", days=7, week_starts=1),
            ["is of kind interval_days, which has no week_starts; leave week_starts out, or write "
             'kind = "calendar_week".'],
        ),
        (
            spore(kind="interval_days"),
            ["is of kind interval_days and does not say days; it is needed."],
        ),
        (
            spore(kind="minutes_or_days"),
            ["is of kind minutes_or_days and does not say days; it is needed.",
             "is of kind minutes_or_days and does not say minutes; it is needed."],
        ),
        (
            spore(kind="days_or_cycles", days=182),
            ["is of kind days_or_cycles and does not say cycles; it is needed."],
        ),
        (
            spore(kind="interval_days", days=7, grace_days=7),
            [f"has 7 days of grace on 7: {TWICE}"],
        ),
        (spore(kind="calendar_week", grace_days=7), [f"has 7 days of grace on 7: {TWICE}"]),
        (
            spore(kind="use_day", grace_days=1),
            ["is of kind use_day, which has no grace; leave grace_days out."],
        ),
        (
            spore(kind="not_asked", is_per_program=True),
            ["is of kind not_asked and per_program; leave out one of the two, or both."],
        ),
        (
            spore(kind="days_or_cycles", days=182, cycles=400, is_per_program=True),
            ["is of kind days_or_cycles and per_program, and use is counted for the whole unit; "
             "leave out per_program, or ask by days."],
        ),
        (
            spore(kind="minutes_or_days", days=30, minutes=2400, is_per_program=True),
            ["is of kind minutes_or_days and per_program, and use is counted for the whole unit; "
             "leave out per_program, or ask by days."],
        ),
        (
            spore(kind="not_asked", result_days=3),
            ["is not asked, so no result can be late; leave out result_days."],
        ),
        (
            spore(kind="use_day", rule="implant"),
            ['is about implants and has kind = "use_day"; write "per_load".'],
        ),
        (
            spore(kind="per_load"),
            ['tests each load with implants; write rule = "implant" as well.'],
        ),
        (
            task(),
            ["is due after neither days nor cycles; write one of them, or both."],
        ),
        (task(days=7, grace_days=7), [f"has 7 days of grace on 7: {TWICE}"]),
        (
            task(task="gasket_replaced", days=7),
            ['has task = "gasket_replaced", which no page has a name for. Did you mean '
             '"gasket_replace"?'],
        ),
        (
            event(event="idle"),
            ["is about idle units without idle_days; write after how many days unused it is "
             "asked."],
        ),
        (
            event(event="repair", idle_days=28),
            ["has idle_days, and is about repair; leave them out."],
        ),
        (
            retention(keep="life_of_unit", years=2),
            ["keeps records for the life of the unit and for years too; leave out one of the two."],
        ),
        (retention(keep="calendar_years"), ["does not say for how many years; write years."]),
        (
            task(days=30, grace_days=5, act_now_days=4),
            ["has act_now_days = 4 within its 5 days of grace; write 5 or more."],
        ),
        (
            response(step="repeat_same_cycle"),
            ["has the step repeat_same_cycle and does not say test_count; it is needed."],
        ),
        (
            response(step="review", test_count=1),
            ["has test_count, and review is no test; leave it out."],
        ),
        (
            routine(test="leak"),
            ["asks a leak test of all units, and only those that pull a vacuum can do one; write "
             'applies_to = "vacuum".'],
        ),
        (
            event(test="steam_penetration"),
            ["asks a steam_penetration test of all units, and only those that pull a vacuum can do "
             'one; write applies_to = "vacuum".'],
        ),
        (
            routine(kind="interval_days"),
            ["is of kind interval_days and does not say days; it is needed."],
        ),
        (
            routine(kind="per_load", grace_days=1),
            ["is of kind per_load, which has no grace; leave grace_days out."],
        ),
    ],
)  # fmt: skip
def test_a_contradiction_is_told_with_what_to_write_instead(rule, faults):
    assert faults_of(rule) == faults
