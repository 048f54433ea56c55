"""Reads the queries of sql/page/: each once when it is first asked for, or some units at a time."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import fields
from datetime import date
from functools import cached_property
from typing import Protocol, TypeVar

import duckdb

from pipeline.base.period import Month, year_to
from pipeline.config.network import Network
from pipeline.render.tables import at_hand
from pipeline.render.tables.at_hand import AtHand
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

_AT_ONCE = 10_000


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
        self.con = con
        self.network = network
        self.as_of = as_of
        self.editions = editions
        self.from_on, self.to_on = year_to(as_of)

    def rows(
        self, name: str, row: Callable[..., Row], some: Mapping[str, list[str] | None] | None = None
    ) -> list[Row]:
        """The rows of sql/page/<name>.sql; the fields of `row` are its columns, in order.

        `some`: the units or sites that a statement with `$units` or `$sites` is to tell of.
        """
        return list(self.each(name, row, some))

    def each(
        self, name: str, row: Callable[..., Row], some: Mapping[str, list[str] | None] | None = None
    ) -> Iterator[Row]:
        """The same rows one after another, without keeping them; no other may be read meanwhile."""
        query = statement("page", name)
        found = self.con.execute(query.text, {**self.parameters(query), **(some or {})})
        columns = [column[0] for column in found.description or ()]
        expected = [field.name for field in fields(row)]  # type: ignore[arg-type]
        assert columns == expected, f"{query.table} gives {columns}, the row holds {expected}"
        while values := found.fetchmany(_AT_ONCE):
            yield from (row(*spoken_values(row, one)) for one in values)

    def of_units(self, name: str, row: Callable[..., UnitsRow]) -> AtHand[UnitsRow]:
        """The rows of sql/page/<name>.sql by unit, read for some units at a time."""

        def read(units: list[str]) -> dict[str, list[UnitsRow]]:
            return grouped(self.rows(name, row, {"units": units}), lambda one: one.unit_serial)

        return AtHand(self._serials, at_hand.UNITS_AT_ONCE, read)

    @cached_property
    def _serials(self) -> list[str]:
        query = statement("page", "unit_order")
        found = self.con.execute(query.text, self.parameters(query)).fetchall()
        return [serial for (serial,) in found]

    def parameters(self, query: Statement) -> dict[str, date]:
        """The days that a statement asks for, by name."""
        known = {"as_of": self.as_of, "from_on": self.from_on, "to_on": self.to_on}
        return {name: known[name] for name in sorted(query.parameters - {"units", "sites"})}


def grouped(rows: Iterable[Row], key: Callable[[Row], Key]) -> dict[Key, list[Row]]:
    """Rows by what they are looked up by, in the order in which they came."""
    groups: dict[Key, list[Row]] = defaultdict(list)
    for row in rows:
        groups[key(row)].append(row)
    return dict(groups)
