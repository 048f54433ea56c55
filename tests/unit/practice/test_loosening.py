"""Which changes of a rule ask for less, figure by figure and in both directions."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.practice.loosening import is_looser
from pipeline.practice.rules import Rule
from tests.unit.practice.made_up import event, response, retention, routine, spore, task

STEADY = settings(derandomize=True, deadline=None)

WEEKLY = {"kind": "interval_days", "days": 7}
USE = {"kind": "minutes_or_days", "minutes": 2400, "days": 30}
BATCHES = {"kind": "days_or_cycles", "days": 182, "cycles": 400}
MUCH = {"kind": "days_by_use", "days": 91, "busy_days": 30, "busy_cycles": 200}
PAIRS = [
    # what asks for more, what asks for less
    (spore(**WEEKLY), spore(kind="interval_days", days=8)),
    (spore(**WEEKLY), spore(**WEEKLY, grace_days=1)),
    (spore(**WEEKLY), spore(**WEEKLY, result_days=15)),
    (spore(**WEEKLY), spore(**WEEKLY, is_paused_when_closed=True)),
    (spore(**WEEKLY, is_per_program=True), spore(**WEEKLY)),
    (spore(kind="calendar_week"), spore(kind="calendar_week", grace_days=1)),
    (spore(**USE), spore(**USE | {"minutes": 2401})),
    (spore(**USE), spore(**USE | {"days": 31})),
    (spore(**BATCHES), spore(**BATCHES | {"days": 183})),
    (spore(**BATCHES), spore(**BATCHES | {"cycles": 401})),
    (spore(**MUCH), spore(**MUCH | {"days": 92})),
    (spore(**MUCH), spore(**MUCH | {"busy_days": 31})),
    (spore(**MUCH), spore(**MUCH | {"busy_cycles": 201})),
    (spore(**MUCH), spore(kind="interval_days", days=91)),
    (spore(kind="interval_days", days=30), spore(**MUCH)),
    (spore(**MUCH | {"days": 60, "busy_days": 40}), spore(**MUCH | {"days": 61})),
    # From one kind to another: a calendar week lets 13 days pass, and every week then has its test.
    (spore(**WEEKLY), spore(kind="calendar_week")),
    (spore(kind="calendar_week"), spore(kind="interval_days", days=8)),
    (spore(kind="calendar_week", grace_days=2), spore(days=8, grace_days=2)),
    (spore(kind="interval_days", days=13), spore(kind="interval_days", days=14)),
    (spore(kind="use_day"), spore(**WEEKLY)),
    (spore(kind="use_day"), spore(kind="calendar_week")),
    (spore(kind="interval_days", days=30), spore(kind="not_asked")),
    (spore(**USE), spore(kind="interval_days", days=30)),
    (spore(**BATCHES), spore(kind="interval_days", days=182)),
    (spore(rule="implant", kind="per_load"), spore(rule="implant", kind="not_asked")),
    (task(days=30, cycles=100), task(days=31, cycles=100)),
    (task(days=30, cycles=100), task(days=30, cycles=101)),
    (task(days=30, cycles=100), task(days=30)),
    (task(days=30, cycles=100), task(cycles=100)),
    (task(days=30), task(days=30, grace_days=1)),
    (task(days=30, act_now_days=10), task(days=30, act_now_days=11)),
    (task(days=30, act_now_days=10), task(days=30)),
    (task(days=30), task(days=30, is_paused_when_closed=True)),
    (task(days=30, who="engineer"), task(days=30, who="user")),
    (task(days=30, who="test person"), task(days=30, who="engineer")),
    (routine(kind="per_load"), routine(kind="use_day")),
    (routine(kind="use_day"), routine(kind="calendar_week")),
    (routine(kind="use_day"), routine(kind="interval_days", days=2)),
    (routine(kind="interval_days", days=91), routine(kind="interval_days", days=92)),
    (routine(kind="calendar_week"), routine(kind="calendar_week", grace_days=1)),
    (routine(), routine(applies_to="vacuum")),
    (event(test_count=3), event(test_count=2)),
    (event(is_per_program=True), event()),
    (event(event="idle", idle_days=28), event(event="idle", idle_days=29)),
    (event(), event(applies_to="vacuum")),
    (response(test_count=3), response(test_count=2)),
    (response(test_count=1), response()),
    (response(within_days=0), response(within_days=1)),
    (response(within_days=9), response()),
    (retention(years=2), retention(years=1)),
    (retention(keep="calendar_years", years=2), retention(years=2)),
    (retention(keep="life_of_unit"), retention(years=50)),
]


@pytest.mark.parametrize(("more", "less"), PAIRS)
def test_asking_for_less_is_looser(more, less):
    assert is_looser(less, than=more)


@pytest.mark.parametrize(("more", "less"), PAIRS)
def test_asking_for_more_is_not(more, less):
    assert not is_looser(more, than=less) or (more, less) in INCOMPARABLE
    assert not is_looser(more, than=more)
    assert not is_looser(less, than=less)


INCOMPARABLE = [
    # Less for units used little, more for those used much.
    (spore(**MUCH | {"days": 60, "busy_days": 40}), spore(**MUCH | {"days": 61})),
    # Seven days do not hold a calendar week's test at bay, and the other way round.
    (spore(kind="calendar_week"), spore(kind="interval_days", days=8)),
    (spore(kind="calendar_week", grace_days=2), spore(days=8, grace_days=2)),
    # A unit may be scrapped tomorrow: its life is no number of years.
    (retention(keep="life_of_unit"), retention(years=50)),
]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (spore(kind="calendar_week"), spore(**WEEKLY)),
        (spore(kind="calendar_week", grace_days=2), spore(**WEEKLY, grace_days=2)),
        (spore(kind="interval_days", days=13), spore(kind="calendar_week")),
        (spore(kind="not_asked"), spore(rule="implant", kind="per_load")),
        (spore(**BATCHES), spore(kind="use_day")),
        (spore(**WEEKLY), spore(**USE | {"days": 7})),
        (spore(kind="calendar_week", week_starts=1), spore(kind="calendar_week", week_starts=7)),
        (spore(**MUCH), spore(kind="interval_days", days=30)),
        (spore(kind="interval_days", days=91), spore(**MUCH)),
        (spore(**MUCH), spore(**MUCH | {"days": 30, "busy_days": 20, "busy_cycles": 999})),
        (retention(years=2), retention(keep="calendar_years", years=2)),
        (retention(keep="calendar_years", years=2), retention(years=3)),
        (response(test_count=3, place=1), response(test_count=3, place=5)),
    ],
)
def test_another_way_of_asking_for_as_much_is_not_looser(before, after):
    assert not is_looser(after, than=before)


def test_another_source_is_not_looser():
    assert not is_looser(
        spore(**WEEKLY, source="a report of the document", confidence="memory"),
        than=spore(**WEEKLY, valid_from=date(2026, 1, 1)),
    )


figures = st.integers(1, 400)
spores = st.one_of(
    st.builds(spore, days=figures, grace_days=st.integers(0, 9), is_per_program=st.booleans()),
    st.builds(spore, kind=st.sampled_from(["use_day", "not_asked"])),
    st.builds(spore, kind=st.just("calendar_week"), grace_days=st.integers(0, 6)),
    st.builds(spore, kind=st.just("minutes_or_days"), days=figures, minutes=figures),
    st.builds(spore, kind=st.just("days_or_cycles"), days=figures, cycles=figures),
    st.builds(
        spore, kind=st.just("days_by_use"), days=figures, busy_days=figures, busy_cycles=figures
    ),
)
tasks = st.builds(
    task,
    days=st.none() | figures,
    cycles=st.none() | figures,
    grace_days=st.integers(0, 9),
    act_now_days=st.none() | figures,
    who=st.sampled_from(["user", "engineer", "test person"]),
)
kept = st.builds(
    retention, years=figures, keep=st.sampled_from(["years_from_record", "calendar_years"])
)


@STEADY
@given(st.sampled_from([spores, tasks, kept]).flatmap(lambda one: st.tuples(one, one, one)))
def test_two_changes_that_loosen_nothing_loosen_nothing_together(rules: tuple[Rule, Rule, Rule]):
    first, second, third = rules

    if not is_looser(second, than=first) and not is_looser(third, than=second):
        assert not is_looser(third, than=first)
