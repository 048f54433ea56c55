"""Reads the queries of sql/page/, each once for the whole network when it is first asked for."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import fields
from datetime import date
from functools import cached_property
from typing import Protocol, TypeVar

import duckdb

from pipeline.base.period import Month, year_to
from pipeline.config.network import Network
from pipeline.render.tables.some_units import SomeUnits
from pipeline.render.tables.spoken import spoken_values
from pipeline.warehouse.statements import Statement, statement


class OfUnit(Protocol):
    """A row that says which unit it is of."""

    @property
    def unit_serial(self) -> str:
        """The serial number."""


Row = TypeVar("Row")
UnitsRow = TypeVar("UnitsRow", bound=OfUnit)
Key = TypeVar("Key", bound=Hashable)


class Reader:
    """A network on the day up to which figures count, and the tables made from its logs.

    The twelve months are half-open: from_on counts, to_on does not. `editions` are the months whose
    pages stand in folders beside the one that is written.
    """

    def __init__(
        self,
        con: duckdb.DuckDBPyConnection,
        network: Network,
        as_of: date,
        editions: tuple[Month, ...] = (),
    ) -> None:
        self._con = con
        self.network = network
        self.as_of = as_of
        self.editions = editions
        self.from_on, self.to_on = year_to(as_of)

    def rows(
        self, name: str, row: Callable[..., Row], units: Sequence[str] | None = None
    ) -> list[Row]:
        """The rows of sql/page/<name>.sql; the fields of `row` are its columns, in order.

        `units`: the serial numbers of those that a statement with `$units` is to tell of.
        """
        query = statement("page", name)
        given = {"units": list(units)} if units is not None else {}
        found = self._con.execute(query.text, self.parameters(query) | given)
        columns = [column[0] for column in found.description or ()]
        expected = [field.name for field in fields(row)]  # type: ignore[arg-type]
        assert columns == expected, f"{query.table} gives {columns}, the row holds {expected}"
        return [row(*spoken_values(row, values)) for values in found.fetchall()]

    def of_units(self, name: str, row: Callable[..., UnitsRow]) -> SomeUnits[UnitsRow]:
        """The rows of sql/page/<name>.sql by unit, read for some units at a time."""
        return SomeUnits(
            self._serials,
            lambda units: grouped(self.rows(name, row, units), lambda one: one.unit_serial),
        )

    @cached_property
    def _serials(self) -> list[str]:
        query = statement("page", "unit_order")
        found = self._con.execute(query.text, self.parameters(query)).fetchall()
        return [serial for (serial,) in found]

    def parameters(self, query: Statement) -> dict[str, date]:
        """The days that a statement asks for, by name."""
        known = {"as_of": self.as_of, "from_on": self.from_on, "to_on": self.to_on}
        return {name: known[name] for name in sorted(query.parameters - {"units"})}


def grouped(rows: Iterable[Row], key: Callable[[Row], Key]) -> dict[Key, list[Row]]:
    """Rows by what they are looked up by, in the order in which they came."""
    groups: dict[Key, list[Row]] = defaultdict(list)
    for row in rows:
        groups[key(row)].append(row)
    return dict(groups)
