"""Hints about temperatures in another unit than the feed declares; never a change."""

import polars as pl

from pipeline.base.quantity import UNITS

_HOT = (115.0, 142.0)
"""Celsius: the hottest of a cycle, 121 to 138 with some room. Common practice, no source."""
_SIGNS = {"degC": "°C", "degF": "°F", "K": "K"}


def likely_units(values: pl.Series) -> list[str]:
    """Units in which the largest of these numbers is a temperature of sterilizing steam."""
    largest = values.max()
    if not isinstance(largest, int | float):
        return []
    units = UNITS["temperature"].items()
    return [
        name for name, unit in units if _HOT[0] <= largest * unit.factor + unit.offset <= _HOT[1]
    ]


def temperature_hint(values: pl.Series, declared: str | None) -> str | None:
    """A question when the numbers as written fit another unit than the declared one.

    250, 270, 273 and 275 °F are 121.1, 132.2, 133.9 and 135.0 °C.
    """
    unit = declared or "degC"
    likely = likely_units(values)
    if not likely or unit in likely:
        return None
    largest = values.max()
    assert isinstance(largest, int | float)
    return f'largest {largest:g}: is this {_SIGNS[likely[0]]}? Then declare unit = "{likely[0]}".'
