"""The days that a build of the figures looks at; all follow from the as-of day."""

import re
from dataclasses import asdict, dataclass
from datetime import date
from typing import Self

from pipeline.base.period import year_to


@dataclass(frozen=True, slots=True)
class Window:
    """The last day included, the year that ends with it (half-open), and where the history begins.

    Statements that are too large for a whole network read units from the first serial number up to,
    not with, the one beyond; all units unless said.

    The history holds two to three years. It begins on a 1 January, so that what is anchored on its
    beginning moves once a year and not every night.
    """

    as_of_on: date
    from_on: date
    to_on: date
    history_on: date
    first_serial: str = ""
    beyond_serial: str = "\U0010ffff"

    @classmethod
    def of(cls, as_of: date) -> Self:
        """The window of this as-of day."""
        from_on, to_on = year_to(as_of)
        return cls(as_of, from_on, to_on, date(from_on.year - 1, 1, 1))

    def parameters(self, names: frozenset[str]) -> dict[str, date | str]:
        """Values for the `$name` parameters of a statement; DuckDB refuses any that it lacks."""
        return {name: value for name, value in asdict(self).items() if name in names}

    def written_into(self, text: str) -> str:
        """A statement with the days in place of their parameters, because a view takes none."""
        for name, day in asdict(self).items():
            text = re.sub(rf"\${name}\b", f"DATE '{day}'", text)
        return text
