"""From values to px, and the round numbers that stand along an axis."""

from datetime import date
from math import ceil, floor, log10

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.base.period import Month


class Scale:
    """Values between low and high as px between start and end, evenly or by their logarithm."""

    __slots__ = ("_each", "_origin", "end", "high", "is_log", "low")

    def __init__(
        self, low: float, high: float, start: float, end: float, *, is_log: bool = False
    ) -> None:
        self.low, self.high, self.end, self.is_log = low, high, end, is_log
        if is_log:
            low, high = log10(low), log10(high)
        # How far it is from a value to the next whole one, and where nothing would be, in px.
        self._each = (end - start) / (high - low)
        self._origin = start - low * self._each

    def __call__(self, value: float) -> float:
        """The place of a value, in px; also beyond the ends."""
        return self._origin + (log10(value) if self.is_log else value) * self._each

    def places(self, values: ArrayLike) -> NDArray[np.float64]:
        """The places of many values on an even scale."""
        assert not self.is_log, "many values have even scales only"
        return self._origin + np.asarray(values, dtype=np.float64) * self._each


def round_ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Multiples of 1, 2 or 5 times a power of ten within [low, high], about so many."""
    span = high - low
    assert span > 0, "an axis needs two different ends"
    power = 10.0 ** floor(log10(span / about))
    step = next(k * power for k in (1, 2, 5, 10) if span / (k * power) <= about)
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [round(k * step, 12) for k in range(first, last + 1)]


def log_ticks(low: float, high: float) -> list[float]:
    """1, 2 and 5 times each power of ten within [low, high]."""
    powers = range(floor(log10(low)), ceil(log10(high)) + 1)
    ticks = [k * 10.0**power for power in powers for k in (1, 2, 5)]
    return [tick for tick in ticks if low <= tick <= high]


def upper_end(values: list[float], *, least: float) -> float:
    """Upper end of an axis from 0: a little above the greatest value, and never below `least`."""
    return max([*values, least]) * 1.08


def day_scale(first: date, last: date, start: float, end: float) -> Scale:
    """Days as px; `last` is the day after the last one drawn."""
    return Scale(first.toordinal(), last.toordinal(), start, end)


def month_starts(first: date, last: date) -> list[date]:
    """The first days of the months in [first, last), each where a month's name may stand."""
    month = Month.of(first) if first.day == 1 else Month.of(first).next()
    found = []
    while month.first_on < last:
        found.append(month.first_on)
        month = month.next()
    return found
