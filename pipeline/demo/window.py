"""The days that are simulated, by date and by number, and spans of them without use."""

from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.base.period import months_before


@dataclass(frozen=True)
class Window:
    """The simulated days, from first_on to ends_on, both included."""

    first_on: date
    ends_on: date

    @classmethod
    def of_months(cls, ends_on: date, month_count: int) -> "Window":
        """The months that end with this day."""
        return cls(months_before(ends_on + timedelta(days=1), month_count), ends_on)

    @property
    def day_count(self) -> int:
        """Days in the window."""
        return (self.ends_on - self.first_on).days + 1

    def index(self, day: date) -> int:
        """Days since the first one; negative before it."""
        return (day - self.first_on).days

    def day(self, index: int) -> date:
        """The day of this number."""
        return self.first_on + timedelta(days=int(index))


@dataclass(frozen=True)
class Closure:
    """Days on which a site, or one of its units, was not in use, both bounds included."""

    from_on: date
    to_on: date
    reason: str
    unit_serial: str = ""
