"""Rows about calendar months and letters; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property

from pipeline.render.tables.reader import Reader


@dataclass(frozen=True, slots=True)
class MonthCountRow:
    """What one site did in one month."""

    site_id: str
    month_on: date
    run_count: int
    stopped_count: int
    test_count: int
    growth_count: int


@dataclass(frozen=True, slots=True)
class MonthFileRow:
    """A log file that a count of a site's month comes from."""

    site_id: str
    month_on: date
    file_id: str


@dataclass(frozen=True, slots=True)
class UnreachedRow:
    """A reader whom a letter did not reach; of a notice it may not be known which letter."""

    period: str | None
    level: str | None
    subject_id: str | None
    recipient: str
    state: str
    told_on: date


class Months(Reader):
    """What letters say of a month, and may be held to later; and whom they did not reach."""

    @cached_property
    def month_counts(self) -> list[MonthCountRow]:
        """Every site and month of the twelve."""
        return self.rows("month_count", MonthCountRow)

    @cached_property
    def month_files(self) -> list[MonthFileRow]:
        """Every file behind them."""
        return self.rows("month_file", MonthFileRow)

    @cached_property
    def unreached(self) -> list[UnreachedRow]:
        """Readers whom letters did not reach, the latest first."""
        return self.rows("unreached", UnreachedRow)
