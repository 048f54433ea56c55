"""ISO 8601: weeks run from Monday to Sunday, and week 01 is the one that holds the year's first
Thursday. 12 April 1985 is the standard's own example (cited from memory)."""

from datetime import date, timedelta

import pytest

from pipeline.base.period import iso_week_name, iso_week_start


@pytest.mark.parametrize(
    ("day", "name", "monday"),
    [
        ("1985-04-12", "1985-W15", "1985-04-08"),
        ("2005-01-01", "2004-W53", "2004-12-27"),
        ("2008-12-29", "2009-W01", "2008-12-29"),
        ("2010-01-03", "2009-W53", "2009-12-28"),
        ("2024-12-29", "2024-W52", "2024-12-23"),
        ("2024-12-30", "2025-W01", "2024-12-30"),
        ("2027-01-01", "2026-W53", "2026-12-28"),
    ],
)
def test_week_and_its_monday(day: str, name: str, monday: str) -> None:
    assert iso_week_name(date.fromisoformat(day)) == name
    assert iso_week_start(date.fromisoformat(day)) == date.fromisoformat(monday)


@pytest.mark.parametrize("year", range(1990, 2060))
def test_week_one_holds_the_first_thursday(year: int) -> None:
    first_thursday = next(
        day
        for day in (date(year, 1, 1) + timedelta(days=ahead) for ahead in range(7))
        if day.weekday() == 3
    )
    assert iso_week_name(first_thursday) == f"{year}-W01"
    before = iso_week_start(first_thursday) - timedelta(days=1)
    assert iso_week_name(before).startswith(f"{year - 1}-W5")
