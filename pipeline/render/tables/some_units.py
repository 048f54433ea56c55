"""Rows of units, read for some at a time: a large network's do not fit into memory at once."""

from collections.abc import Callable, Iterable
from typing import Generic, TypeVar

UNITS_AT_ONCE = 512
"""Those of an invented unit take a quarter of a megabyte, most of it weeks of wear and traces."""

Row = TypeVar("Row")


class SomeUnits(Generic[Row]):
    """Rows by serial number; those of the units around the last one asked for are at hand.

    So pages that are written in the order of `serials` read each row once.
    """

    def __init__(
        self, serials: Iterable[str], read: Callable[[list[str]], dict[str, list[Row]]]
    ) -> None:
        self._serials = list(serials)
        self._places = {serial: place for place, serial in enumerate(self._serials)}
        self._read = read
        self._begin = -1
        self._at_hand: dict[str, list[Row]] = {}

    def get(self, serial: str, otherwise: list[Row]) -> list[Row]:
        """The rows of a unit, in the order of the statement."""
        place = self._places.get(serial)
        if place is None:
            return otherwise
        begin = place - place % UNITS_AT_ONCE
        if begin != self._begin:
            # Let go of the others before more are read, so that two parts are never in memory.
            self._at_hand, self._begin = {}, begin
            self._at_hand = self._read(self._serials[begin : begin + UNITS_AT_ONCE])
        return self._at_hand.get(serial, otherwise)
