"""Until when a record is kept, and which ones are past that: the two say the same."""

from datetime import date, timedelta

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pipeline.practice.profiles import write_profiles
from pipeline.practice.retention import kept_to
from pipeline.practice.rules import RetentionRule
from pipeline.practice.shelf import all_profiles
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.statements import statement
from tests.unit.practice.made_up import retention

STEADY = settings(derandomize=True, deadline=None)


PROFILES = all_profiles()
CON = open_memory()
write_profiles(CON, PROFILES)


@pytest.mark.parametrize(
    ("rule", "recorded_on", "to_on"),
    [
        (retention(years=1), date(2025, 6, 1), date(2026, 6, 1)),
        (retention(years=1), date(2024, 2, 29), date(2025, 3, 1)),
        (retention(years=4), date(2024, 2, 29), date(2028, 2, 29)),
        (retention(keep="calendar_years", years=2), date(2023, 1, 1), date(2025, 12, 31)),
        (retention(keep="calendar_years", years=2), date(2023, 12, 31), date(2025, 12, 31)),
        (retention(keep="life_of_unit"), date(2023, 1, 1), None),
    ],
)
def test_the_last_day_on_which_a_record_must_be_there(rule, recorded_on, to_on):
    assert kept_to(rule, recorded_on) == to_on


@STEADY
@given(
    st.sampled_from(["us-oregon-dental", "us-california-dental", "us-washington-dental"]),
    st.dates(date(2020, 1, 1), date(2032, 12, 31)),
)
@example("us-california-dental", date(2024, 2, 29))
@example("us-california-dental", date(2025, 3, 1))
@example("us-california-dental", date(2025, 3, 2))
@example("us-oregon-dental", date(2026, 1, 1))
@example("us-oregon-dental", date(2025, 12, 31))
def test_the_page_names_the_last_day_whose_records_are_past(name, as_of):
    (past_on,) = [row for row in past_days(name, as_of) if row]
    (rule,) = PROFILES[name].of(RetentionRule)

    assert kept_to(rule, past_on) < as_of <= kept_to(rule, past_on + timedelta(days=1))


def test_the_life_of_a_unit_and_other_rules_name_no_day():
    assert [row for row in past_days("germany", date(2026, 10, 31)) if row] == [date(2021, 10, 30)]
    assert not any(past_days("weekly", date(2026, 10, 31)))


def past_days(name: str, as_of: date) -> list[date | None]:
    found = CON.execute(statement("page", "rule").text, {"to_on": as_of + timedelta(days=1)})
    columns = [column[0] for column in found.description]
    rows = [dict(zip(columns, row, strict=True)) for row in found.fetchall()]
    return [row["past_on"] for row in rows if row["practice"] == name]
