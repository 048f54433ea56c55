from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from pipeline.measure.site_habit import judge_weeks, site_habit_rows
from pipeline.measure.window import Window
from pipeline.warehouse.connection import open_memory

AS_OF = date(2026, 10, 31)
WEEKS = np.arange(-51, 1) * 7.0


def judged(*rows: list[float]):
    used = np.full((len(rows), 52), np.nan)
    days = np.zeros((len(rows), 52))
    for index, row in enumerate(rows):
        used[index, : len(row)], days[index, : len(row)] = row, WEEKS[-len(row) :]
    return judge_weeks(used, days, np.array([len(row) for row in rows]))


def test_a_slide_of_half_of_what_is_allowed_in_a_year_is_seen_once_it_is_past_due():
    slide = (1.2 + 0.5 * WEEKS / 365.25 + 0.02 * np.tile([1, -1, -1, 1], 13)).tolist()
    early = [one - 0.4 for one in slide]
    found = judged(slide, early)

    assert found.state.tolist() == ["look_into", "usual"]
    assert found.slopes.slope == pytest.approx([0.5, 0.5], abs=0.02)
    assert found.lately[0] == pytest.approx(1.2 - 0.5 * 42 / 365.25, abs=0.02)
    assert found.before[0] < found.lately[0] - 0.2


def test_always_late_is_no_habit_of_getting_later_and_few_weeks_say_nothing():
    found = judged([1.5] * 52, [1.0, 2.0] * 5 + [3.0])

    assert found.state.tolist() == ["usual", "too_few"]
    assert np.isnan(found.slopes.slope[1])
    assert np.isnan(found.before[1])


@pytest.fixture
def facts():
    """Only what is read: a unit of two sites' worth of acts."""
    con = open_memory()
    con.execute("CREATE SCHEMA fact; CREATE SCHEMA model")
    weeks = [AS_OF - timedelta(weeks=n) for n in range(20)]
    task = pl.DataFrame(
        [("U", "a", "clean", on, 1.0, False) for on in weeks]
        + [
            ("U", "a", "service", weeks[3], 2.0, True),
            ("G", "gone", "clean", weeks[0], 1.0, False),
        ],
        schema=["unit_serial", "site_id", "task", "ended_on", "used_share", "is_late"],
        orient="row",
    )
    done = task.select("unit_serial", "task", done_on="ended_on").with_columns(
        by_role=pl.when(pl.col("task") == "service").then(pl.lit("engineer"))
    )
    spore = pl.DataFrame(
        {
            "unit_serial": "U",
            "from_on": [date(2026, 10, 1), date(2026, 10, 8), date(2026, 10, 20)],
            "ended_on": [date(2026, 10, 8), date(2026, 10, 20), None],
            "due_on": [date(2026, 10, 8), date(2026, 10, 14), date(2026, 10, 27)],
            "allowed_on": [date(2026, 10, 9), date(2026, 10, 15), date(2026, 10, 28)],
            "is_test": True,
        }
    )
    service = pl.DataFrame({"unit_serial": ["U"], "site_id": ["a"]})
    for name, rows in (
        ("fact.task_interval", task),
        ("model.task", done),
        ("fact.spore_interval", spore),
        ("fact.service", service),
    ):
        con.register("made", rows)
        con.execute(f"CREATE TABLE {name} AS FROM made")
        con.unregister("made")
    return con


def test_acts_of_a_site_are_told_apart_by_role_and_tests_stand_by_themselves(facts):
    rows = site_habit_rows(facts, Window.of(AS_OF))

    told = rows.select("site_id", "act", "role", "interval_count", "late_count", "state").rows()
    assert told == [
        ("a", "task", "engineer", 1, 1, "too_few"),
        ("a", "task", "not_noted", 20, 0, "usual"),
        ("a", "test", "all", 2, 1, "too_few"),
    ]
    # Seven of seven days, and twelve of six.
    assert rows["lately_share"].to_list() == pytest.approx([2.0, 1.0, 1.5])


def test_what_ended_after_the_day_is_not_known_on_it(facts):
    rows = site_habit_rows(facts, Window.of(AS_OF - timedelta(weeks=10)))

    assert rows.select("act", "role", "interval_count").rows() == [("task", "not_noted", 10)]


def test_a_site_without_an_interval_has_no_row(facts):
    assert site_habit_rows(facts, Window.of(date(2020, 1, 1))).is_empty()
