"""Measured values in the unit that people use; which one follows from the name's ending."""

from functools import cache

from pipeline.base.phrases import phrase
from pipeline.render.words import decimal, unknown

_SHOWN = (
    ("_kpa_per_minute", 1.0, 2, "kPa/min"),
    ("_celsius", 1.0, 1, "°C"),
    ("_kelvin", 1.0, 1, "K"),
    ("_kpa", 1.0, 1, "kPa"),
    ("_seconds", 60.0, 1, "min"),
)
"""Ending, stored units in a shown one, decimals, shown unit; the longer of two endings first."""


def bare(feature: str, value: float | None) -> str:
    """A value without its unit of measure."""
    _, factor, places, _ = _shown(feature)
    return decimal(None if value is None else value / factor, places)


def quantity(feature: str, value: float | None) -> str:
    """A value with its unit of measure: "10.8 min"."""
    return unknown() if value is None else f"{bare(feature, value)} {unit_of(feature)}"


def quantity_range(feature: str, low: float | None, high: float | None) -> str:
    """Both ends of a range with the unit of measure once: "10.5 to 12.5 min"."""
    if low is None or high is None:
        return unknown()
    words = phrase("number.range", low=bare(feature, low), high=bare(feature, high))
    return f"{words} {unit_of(feature)}"


def change(feature: str, value: float | None) -> str:
    """A change with its sign and one decimal more: "+0.08"."""
    if value is None:
        return unknown()
    _, factor, places, _ = _shown(feature)
    words = decimal(value / factor, places + 1)
    return f"+{words}" if value > 0 else words


def unit_of(feature: str) -> str:
    """The unit of measure that is shown."""
    return _shown(feature)[3]


@cache
def _shown(feature: str) -> tuple[str, float, int, str]:
    return next(shown for shown in _SHOWN if feature.endswith(shown[0]))
