"""Units of measure that logs are written in, and how each becomes ours.

Ours: degrees Celsius, kPa absolute, kPa a minute, seconds, hours, microsiemens per centimetre.
Numbers only: reading a text as a number is the mapping's work.

Source of the factors: NIST Special Publication 811 (2008), appendix B.8, as printed there.
"""

from typing import NamedTuple


class Unit(NamedTuple):
    """A value in this unit times `factor`, plus `offset`, is the value in ours."""

    factor: float
    offset: float = 0.0


_PRESSURE = {
    "kPa": Unit(1.0),
    "Pa": Unit(0.001),
    "hPa": Unit(0.1),
    "MPa": Unit(1000.0),
    "mbar": Unit(0.1),
    "bar": Unit(100.0),
    "psi": Unit(6.894757),
    "inHg": Unit(3.386389),
    "mmHg": Unit(0.1333224),
    "kgf/cm2": Unit(98.0665),
}

UNITS: dict[str, dict[str, Unit]] = {
    "temperature": {
        "degC": Unit(1.0),
        "degF": Unit(5 / 9, -160 / 9),
        "K": Unit(1.0, -273.15),
    },
    "pressure": _PRESSURE,
    "pressure rate": {f"{name}/min": unit for name, unit in _PRESSURE.items()},
    "time": {
        "s": Unit(1.0),
        "min": Unit(60.0),
        "h": Unit(3600.0),
        "mm:ss": Unit(1.0),
        "hh:mm:ss": Unit(1.0),
    },
    "hours": {
        "h": Unit(1.0),
        "min": Unit(1 / 60),
        "s": Unit(1 / 3600),
        "d": Unit(24.0),
        "hh:mm:ss": Unit(1 / 3600),
    },
    "conductivity": {
        "uS/cm": Unit(1.0),
        "µS/cm": Unit(1.0),
        "mS/cm": Unit(1000.0),
        "mS/m": Unit(10.0),
    },
}
"""For each dimension its units; the first is ours, and is meant when a feed names none.

The texts "mm:ss" and "hh:mm:ss" are counted out in seconds before the factor is used.
"""

CLOCK_UNITS = ("mm:ss", "hh:mm:ss")

_SUFFIXES = {
    "_celsius": "temperature",
    "_kpa": "pressure",
    "_kpa_per_minute": "pressure rate",
    "_seconds": "time",
    "_hours": "hours",
    "_us_per_cm": "conductivity",
}


def dimension_of(target: str) -> str | None:
    """What a column measures, from the end of its name; None when it has no unit of measure."""
    return next((name for end, name in _SUFFIXES.items() if target.endswith(end)), None)


def unit_of(target: str, name: str | None) -> Unit:
    """The unit of this name for a column, ours when none is named; KeyError when not known."""
    dimension = dimension_of(target)
    if dimension is None:
        return Unit(1.0)
    units = UNITS[dimension]
    return units[name or next(iter(units))]


def standard_atmosphere_kpa(altitude_m: float) -> float:
    """Pressure of the air at this height above sea level, weather apart.

    Weather moves it by about 3 kPa, so a gauge pressure is never better than that.
    Source: ISO 2533:1975 (the ICAO standard atmosphere), up to 11 000 m.
    """
    return float(101.325 * (1 - 2.25577e-5 * altitude_m) ** 5.25588)
