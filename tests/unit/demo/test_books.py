"""Spore tests and upkeep: how often, how they end, and how a pending one comes again."""

from datetime import date, datetime, timedelta

import polars as pl
import pytest

from pipeline.demo.site_logs import as_known
from pipeline.demo.sites import place
from pipeline.demo.sporetest import GROWTH_SHARE, table_of
from pipeline.demo.tell import tell
from pipeline.demo.unit import units_of
from pipeline.demo.window import Window

WINDOW = Window.of_months(date(2026, 10, 31), 12)


@pytest.fixture(scope="module")
def stories():
    """Twelve sites' units over a year."""
    return [tell(2026, unit, WINDOW) for index in range(12) for unit in units_of(index, 24, WINDOW)]


@pytest.fixture(scope="module")
def tests(stories):
    """All their spore tests."""
    return pl.concat([table_of(told.book.tests) for told in stories])


def test_nearly_every_week_in_use_has_a_test(stories):
    missed = sum(len(told.book.missed_weeks) for told in stories)
    routine = sum(test.purpose == "routine" for told in stories for _, test in told.book.tests)
    assert 0.005 < missed / (missed + routine) < 0.06


def test_growth_is_as_rare_as_published(tests):
    # 0.20 % of 198,771 tests: Vatanparast, preprint rs-4350950 (2024). About 1,900 tests here, so
    # about 4; more than 13 would come by chance once in ten thousand.
    assert GROWTH_SHARE == 0.002
    assert 1 <= (tests["result"] == "growth").sum() <= 13


def test_some_tests_are_lost_some_controls_are_dead_and_some_are_read_early(tests):
    assert 0 < (tests["result"] == "lost").sum() < len(tests) * 0.02
    assert 0 < (tests["control_result"] == "no_growth").sum() < len(tests) * 0.02
    incubated = tests["read"] - tests["incubation_started"]
    asked = pl.duration(hours=pl.col("incubation_hours"))
    is_early = tests.select(is_early=incubated < asked)["is_early"]
    assert 0 < is_early.sum() < len(tests) * 0.03


def test_a_test_goes_into_a_complete_load_of_its_unit(stories):
    for told in stories:
        loads = told.cycles.filter(
            (pl.col("outcome") == "complete") & pl.col("load_kind").is_not_null()
        )
        starts = set(loads["_started_utc"])
        assert all(test.exposed in starts for _, test in told.book.tests)


def test_a_repaired_unit_is_tested_before_it_is_trusted_again(stories):
    repaired = [told for told in stories if told.story.life.repairs]
    assert repaired
    for told in repaired:
        for repair in told.story.life.repairs:
            back_on = WINDOW.day(repair.back_index)
            after = [test for _, test in told.book.tests if test.exposed.date() >= back_on]
            assert [test.purpose for test in after[:3]] == ["requalification"] * 3


def test_a_repair_makes_the_part_new_again(stories):
    found = [
        (told, repair) for told in stories for repair in told.story.life.repairs if repair.component
    ]
    assert found
    for told, repair in found:
        worn = told.story.wear(repair.component)
        day = told.story.plan.day
        bound = told.story.unit.bound
        assert worn[day < repair.from_index][-60:].max() > 0.45
        assert worn[day >= repair.back_index][0] < 0.45 or bound


def test_no_cycle_runs_while_a_unit_is_being_repaired(stories):
    for told in stories:
        days = set(told.cycles["_started_utc"].dt.date())
        for closure in told.closures:
            out = (closure.to_on - closure.from_on).days + 1
            assert not days & {closure.from_on + timedelta(days=day) for day in range(out)}


def test_a_pending_test_comes_again_with_its_result_under_the_same_number(tests):
    test = tests.filter(pl.col("read").is_not_null())[5]
    read = test["read"].item()
    before = as_known(test, read - timedelta(minutes=1))
    assert before["result"].item() == "pending"
    assert before["control_result"].item() is None
    assert before["read"].item() is None
    after = as_known(test, read)
    assert after.equals(test)
    assert after["test_id"].item() == before["test_id"].item()


def test_what_is_not_in_the_incubator_yet_has_no_time_of_incubation(tests):
    posted = tests.filter(pl.col("incubation_hours") == 168)[0]
    on_the_way = as_known(posted, posted["exposed"].item() + timedelta(hours=3))
    assert on_the_way["incubation_started"].item() is None


def test_tests_by_post_take_a_week_and_those_on_the_desk_a_day(tests):
    read = tests.filter(pl.col("read").is_not_null())
    days = (read["read"] - read["exposed"]).dt.total_hours() / 24
    by_post = read["incubation_hours"] == 168
    assert days.filter(by_post).median() > 8
    assert days.filter(~by_post).median() < 2


def test_a_careless_clinic_cleans_later_than_a_careful_one(stories):
    def middle_gap(site_index):
        acts = pl.concat([told.acts for told in stories if told.story.unit.home == site_index])
        cleaned = acts.filter(pl.col("task") == "deep_clean").sort("unit_serial", "done_on")
        gaps = cleaned.select(pl.col("done_on").diff().over("unit_serial").dt.total_days())
        return gaps.to_series().median()

    careless, careful = 11, 4
    assert place(careless, WINDOW.ends_on).clinic == place(careful, WINDOW.ends_on).clinic
    assert middle_gap(careless) > middle_gap(careful) + 3


def test_the_counter_of_an_act_is_that_of_the_last_cycle_of_the_day(stories):
    told = stories[0]
    act = told.acts.filter(pl.col("counter").is_not_null())[20]
    end = datetime.combine(act["done_on"].item() + timedelta(days=1), datetime.min.time())
    until = told.cycles.filter(pl.col("_started_utc") < end)
    assert act["counter"].item() == until["cycle_number"][-1]
