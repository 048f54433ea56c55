"""Hints about pressures in another unit than declared, or gauge for absolute; never a change.

In the hold the chamber is full of steam, so its pressure and temperature tell the same thing
twice. A reading that only makes sense in another unit, or with the air's pressure added, shows it.
"""

from typing import NamedTuple

import numpy as np
import polars as pl

from pipeline.base.quantity import UNITS
from pipeline.physics.steam import saturation_celsius

_COMMON = ("kPa", "bar", "psi", "mbar", "kgf/cm2", "MPa", "mmHg", "inHg")
"""The units in which chamber pressures are met, the commoner first."""
_BANDS = ((120.5, 124.5), (131.5, 138.5))
"""Celsius: the holds of steam at 121 and at 134, for rows that log no temperature."""
_NEAR_KELVIN = 2.5
"""A logged temperature and the one that belongs to the pressure agree within this. EN 285 asks for
2 K (from memory); half a kelvin more for weather and rounding."""
_MOST = 0.6


class Reading(NamedTuple):
    """One way to read the numbers of a column."""

    unit: str
    is_gauge: bool

    def __str__(self) -> str:
        return f"{self.unit} {'gauge' if self.is_gauge else 'absolute'}"


def likely_readings(
    values: pl.Series, air_kpa: float, celsius: pl.Series | None = None
) -> list[Reading]:
    """Ways to read numbers of the hold that agree with saturated steam in most rows, best first.

    `celsius` is what the same rows log as temperature; where it is not there, a row fits when it
    is near 121 or 134. Source of the saturation line: IAPWS R7-97(2012).
    """
    numbers = values.cast(pl.Float64).fill_null(float("nan")).to_numpy()
    known = np.isfinite(numbers)
    if celsius is not None:
        measured = celsius.cast(pl.Float64).fill_null(float("nan")).to_numpy()
        hot = np.isfinite(measured) & (measured > 110) & (measured < 145)
        known &= hot
    if not known.any():
        return []
    fits: list[tuple[float, int, Reading]] = []
    for place, unit in enumerate(_COMMON):
        for is_gauge in (False, True):
            kpa = numbers[known] * UNITS["pressure"][unit].factor + (air_kpa if is_gauge else 0)
            boiling = saturation_celsius(np.where((kpa > 1) & (kpa < 1000), kpa, np.nan))
            if celsius is not None:
                share = float(np.mean(np.abs(boiling - measured[known]) <= _NEAR_KELVIN))
            else:
                inside = [(boiling >= low) & (boiling <= high) for low, high in _BANDS]
                share = float(np.mean(inside[0] | inside[1]))
            if share >= _MOST:
                fits.append((-round(share, 2), place, Reading(unit, is_gauge)))
    return [reading for _, _, reading in sorted(fits)]


def pressure_hint(
    values: pl.Series,
    declared: str | None,
    is_gauge: bool,
    air_kpa: float,
    celsius: pl.Series | None = None,
) -> str | None:
    """A question when the numbers as written agree with steam in another reading than declared."""
    smallest, middle = values.min(), values.median()
    if isinstance(smallest, int | float) and smallest < 0 and not is_gauge:
        return f"smallest {smallest:g}: an absolute pressure is never below 0. Add gauge = true."
    now = Reading(declared or "kPa", is_gauge)
    likely = likely_readings(values, air_kpa, celsius)
    if now in likely:
        return None
    if not likely:
        return _disagreement(values, now, air_kpa, celsius)
    assert isinstance(middle, int | float)
    others = " or ".join(str(one) for one in likely[:3])
    gauge = ", gauge = true" if likely[0].is_gauge else ""
    return (
        f"middle {middle:g}, declared as {now}: steam in the hold would have this as {others}. "
        f'Is it unit = "{likely[0].unit}"{gauge}?'
    )


def _disagreement(
    values: pl.Series, now: Reading, air_kpa: float, celsius: pl.Series | None
) -> str | None:
    """What to say where no reading agrees with the temperatures that the same rows log."""
    if celsius is None:
        return None
    both = values.is_not_null() & celsius.is_between(110, 145).fill_null(value=False)
    middle, logged = values.filter(both).median(), celsius.filter(both).median()
    if not isinstance(middle, float) or not isinstance(logged, float):
        return None
    kpa = middle * UNITS["pressure"][now.unit].factor + (air_kpa if now.is_gauge else 0)
    boiling = float(saturation_celsius(min(max(kpa, 1.0), 1000.0)))
    return (
        f"middle {middle:g} as {now} is {kpa:.0f} kPa, at which steam has {boiling:.1f} °C, not "
        f"the {logged:.1f} °C of these rows. Look at the unit, at gauge and at the site's altitude."
    )


def vacuum_hint(values: pl.Series, declared: str | None, is_gauge: bool) -> str | None:
    """A question about the deepest vacuum: below zero is gauge, above the air's is no vacuum."""
    smallest = values.min()
    if not isinstance(smallest, int | float):
        return None
    if smallest < 0 and not is_gauge:
        return f"smallest {smallest:g}: an absolute pressure is never below 0. Add gauge = true."
    kpa = smallest * UNITS["pressure"][declared or "kPa"].factor
    if not is_gauge and kpa > 101.325:
        return f"smallest {smallest:g} {declared or 'kPa'} is above the air's pressure: is it mbar?"
    return None
