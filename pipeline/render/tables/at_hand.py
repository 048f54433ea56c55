"""Rows of units or sites, read for some at a time: a large network's do not fit into memory."""

from collections.abc import Callable, Iterable
from typing import Generic, TypeVar

UNITS_AT_ONCE = 512
"""Those of an invented unit take a quarter of a megabyte, most of it weeks of wear and traces."""

SITES_AT_ONCE = 128
"""Up to 200 lines that were held of each."""

Row = TypeVar("Row")


class AtHand(Generic[Row]):
    """Rows by what they are of; those of the ones around the last that was asked for are at hand.

    So pages that are written in the order of `keys` read each row once.
    """

    def __init__(
        self,
        keys: Iterable[str],
        at_once: int,
        read: Callable[[list[str]], dict[str, list[Row]]],
    ) -> None:
        self._keys = list(keys)
        self._places = {key: place for place, key in enumerate(self._keys)}
        self._at_once = at_once
        self._read = read
        self._begin = -1
        self._at_hand: dict[str, list[Row]] = {}

    def get(self, key: str, otherwise: list[Row]) -> list[Row]:
        """The rows of a unit or site, in the order of the statement."""
        place = self._places.get(key)
        if place is None:
            return otherwise
        begin = place - place % self._at_once
        if begin != self._begin:
            # Let go of the others before more are read, so that two parts are never in memory.
            self._at_hand, self._begin = {}, begin
            self._at_hand = self._read(self._keys[begin : begin + self._at_once])
        return self._at_hand.get(key, otherwise)
