"""Calendar periods as values: months, ISO weeks, and the twelve months up to a day.

Half-open throughout: a period holds its first day and not its last bound. Nothing here knows what
day it is today.
"""

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Self

_MONTH = re.compile(r"(\d{4})-(0[1-9]|1[0-2])", re.ASCII)


@dataclass(frozen=True, order=True, slots=True)
class Month:
    """A calendar month; months sort by time and print as "2026-10"."""

    year: int
    month: int

    def __post_init__(self) -> None:
        date(self.year, self.month, 1)

    @classmethod
    def of(cls, day: date) -> Self:
        """The month in which this day lies."""
        return cls(day.year, day.month)

    @classmethod
    def parse(cls, text: str) -> Self:
        """The month written as year, dash, two digits; ValueError says how to write it."""
        match = _MONTH.fullmatch(text)
        if match is None:
            raise ValueError(f'"{text}" is not a month: write year and month, as in "2026-10".')
        return cls(int(match[1]), int(match[2]))

    @property
    def first_on(self) -> date:
        """The first day; `next().first_on` is the bound that is no longer in the month."""
        return date(self.year, self.month, 1)

    def next(self) -> Self:
        """The month after this one."""
        return type(self)(self.year + self.month // 12, self.month % 12 + 1)

    def contains(self, day: date) -> bool:
        """True for a day of this month."""
        return (day.year, day.month) == (self.year, self.month)

    def __str__(self) -> str:
        return f"{self.year:04}-{self.month:02}"


def iso_week_start(day: date) -> date:
    """The Monday on or before this day. Source: ISO 8601, weeks run from Monday to Sunday."""
    return day - timedelta(days=day.weekday())


def iso_week_name(day: date) -> str:
    """The week as "2025-W01"; the year is the one that holds the week's Thursday.

    So 30 December 2024 lies in 2025-W01 and 1 January 2027 in 2026-W53. Source: ISO 8601.
    """
    year, week, _ = day.isocalendar()
    return f"{year:04}-W{week:02}"


def months_before(day: date, count: int) -> date:
    """The same day of the month, `count` months earlier.

    A month that is too short gives its last day: one month before 31 March is 28 (or 29) February,
    twelve months before 29 February is 28 February.
    """
    months = day.year * 12 + day.month - 1 - count
    year, month = months // 12, months % 12 + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def year_to(as_of: date) -> tuple[date, date]:
    """The twelve months that end with this day, as the first day and the day after the last.

    To 30 June 2026: from 1 July 2025, before 1 July 2026. The start is counted back from the day
    after, and no 29 February a year earlier means 28 February: the year to 28 February 2024 starts
    on 28 February 2023.
    """
    to = as_of + timedelta(days=1)
    return months_before(to, 12), to
