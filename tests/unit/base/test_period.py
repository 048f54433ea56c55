from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.base.period import Month, iso_week_start, months_before, year_to

days = st.dates(date(1900, 3, 1), date(2200, 1, 1))


def test_months_sort_by_time_and_print_as_they_are_written() -> None:
    months = [Month(2026, 10), Month(2025, 12), Month(2026, 2)]
    assert [str(month) for month in sorted(months)] == ["2025-12", "2026-02", "2026-10"]
    assert Month.parse("2026-10") == Month(2026, 10)


@pytest.mark.parametrize("text", ["2026-13", "2026-1", "26-10", "2026-10-01", "", "٢٠٢٦-10"])
def test_what_is_not_a_month_is_said_with_how_to_write_it(text: str) -> None:
    with pytest.raises(ValueError, match='as in "2026-10"'):
        Month.parse(text)


def test_a_thirteenth_month_cannot_be_made() -> None:
    with pytest.raises(ValueError, match="month"):
        Month(2026, 13)


@given(days)
def test_a_month_holds_its_days_and_not_the_first_of_the_next(day: date) -> None:
    month = Month.of(day)
    assert month.contains(day)
    assert month.first_on <= day < month.next().first_on
    assert not month.contains(month.next().first_on)
    assert month.contains(month.next().first_on - timedelta(days=1))
    assert Month.parse(str(month)) == month


@given(days)
def test_a_week_starts_on_the_monday_up_to_six_days_before(day: date) -> None:
    monday = iso_week_start(day)
    assert monday.weekday() == 0
    assert 0 <= (day - monday).days <= 6


@pytest.mark.parametrize(
    ("day", "count", "expected"),
    [
        ("2026-10-15", 0, "2026-10-15"),
        ("2026-10-15", 10, "2025-12-15"),
        ("2026-03-31", 1, "2026-02-28"),
        ("2024-03-31", 1, "2024-02-29"),
        ("2024-02-29", 12, "2023-02-28"),
        ("2024-02-29", 48, "2020-02-29"),
    ],
)
def test_months_before_keep_the_day_where_the_month_has_it(day, count, expected) -> None:
    assert months_before(date.fromisoformat(day), count) == date.fromisoformat(expected)


@pytest.mark.parametrize(
    ("as_of", "from_on", "to_on"),
    [
        ("2026-06-30", "2025-07-01", "2026-07-01"),
        ("2026-10-14", "2025-10-15", "2026-10-15"),
        ("2024-02-28", "2023-02-28", "2024-02-29"),  # no 29 February the year before
        ("2024-02-29", "2023-03-01", "2024-03-01"),
        ("2025-02-28", "2024-03-01", "2025-03-01"),
    ],
)
def test_the_year_to_a_day_ends_with_that_day(as_of, from_on, to_on) -> None:
    assert year_to(date.fromisoformat(as_of)) == (
        date.fromisoformat(from_on),
        date.fromisoformat(to_on),
    )


@given(days)
def test_a_year_has_365_or_366_days(day: date) -> None:
    from_on, to_on = year_to(day)
    assert (to_on - from_on).days in (365, 366)
