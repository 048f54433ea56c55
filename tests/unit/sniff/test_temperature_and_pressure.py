"""Columns of numbers and what should be asked about them.

Saturation: 121 °C is 205.0 kPa, 134 °C is 304.2 kPa. Source: IAPWS R7-97(2012), equation 30.
250, 270, 273 and 275 °F are 121.11, 132.22, 133.89 and 135.00 °C. Source of the factor: NIST
Special Publication 811 (2008), appendix B.8. 1 atm = 101.325 kPa (ISO 2533:1975).
7.5 bar: 167.8 °C, by IAPWS R7-97(2012), equation 31, as the package iapws has it.
"""

import polars as pl
import pytest

from pipeline.sniff.pressure import Reading, likely_readings, pressure_hint, vacuum_hint
from pipeline.sniff.temperature import likely_units, temperature_hint

SEA, HIGH = 101.325, 83.43
"""Pressure of the air at 0 m and 1609 m. Source: ISO 2533:1975."""


@pytest.mark.parametrize(
    ("values", "declared", "asked"),
    [
        # values            declared  asked
        ([271.4, 273.0], None, "°F"),
        ([248.0, 251.0], "degC", "°F"),
        ([393.9, 407.3], None, "K"),
        ([133.9, 134.6], "degF", "°C"),
        ([133.9, 134.6], None, None),
        ([121.0, None], "degC", None),
        ([270.0, 275.2], "degF", None),
        ([20.0, 61.5], None, None),  # too cool to say anything
        ([None], None, None),
    ],
)
def test_temperatures_in_another_unit_than_declared_are_asked_about(values, declared, asked):
    hint = temperature_hint(pl.Series(values, dtype=pl.Float64), declared)
    if asked is None:
        assert hint is None
    else:
        assert f"is this {asked}?" in hint


def test_the_largest_value_is_named_in_the_question():
    assert temperature_hint(pl.Series([270.0, 273.0]), None).startswith("largest 273: is this °F?")
    assert likely_units(pl.Series([273.0])) == ["degF"]


@pytest.mark.parametrize(
    ("value", "celsius", "air", "first"),
    [
        # 134 °C: absolute kPa, bar, psi; gauge kPa, bar, psi
        (304.2, 134.0, SEA, Reading("kPa", False)),
        (3.042, 134.0, SEA, Reading("bar", False)),
        (44.12, 134.0, SEA, Reading("psi", False)),
        (202.9, 134.0, SEA, Reading("kPa", True)),
        (2.029, 134.0, SEA, Reading("bar", True)),
        (29.42, 134.0, SEA, Reading("psi", True)),
        (3042.0, 134.0, SEA, Reading("mbar", False)),
        (0.3042, 134.0, SEA, Reading("MPa", False)),
        # 121 °C
        (205.0, 121.0, SEA, Reading("kPa", False)),
        (103.7, 121.0, SEA, Reading("kPa", True)),
        (15.04, 121.0, SEA, Reading("psi", True)),
        (29.74, 121.0, SEA, Reading("psi", False)),
        # 134 °C where the air is thin
        (32.02, 134.0, HIGH, Reading("psi", True)),
    ],
)
def test_steam_tells_the_unit_and_the_zero_of_a_pressure(value, celsius, air, first):
    found = likely_readings(pl.Series([value] * 3), air, pl.Series([celsius] * 3))
    assert found[0] == first


def test_205_kpa_is_absolute_at_121_and_gauge_at_134_and_only_the_temperature_can_tell():
    values = pl.Series([205.0, 206.0, 205.5])
    assert {Reading("kPa", False), Reading("kPa", True)} <= set(likely_readings(values, SEA))
    at_134 = likely_readings(values, SEA, pl.Series([134.0] * 3))
    assert Reading("kPa", True) in at_134
    assert Reading("kPa", False) not in at_134


@pytest.mark.parametrize(
    ("values", "declared", "is_gauge", "asked"),
    [
        ([29.4, 29.9], "psi", False, 'unit = "psi", gauge = true'),
        ([29.4, 29.9], "psi", True, None),
        ([44.1, 44.4], "psi", True, 'unit = "psi"?'),
        ([3.04, 3.06], None, False, 'unit = "bar"?'),
        ([304.0, 306.0], None, False, None),
        ([-0.8, 2.1], "bar", False, "Add gauge = true"),
        ([7.0, 8.0], "bar", False, "is 750 kPa, at which steam has 167.8 °C, not the 134.0 °C"),
        ([None], "bar", False, None),
    ],
)
def test_pressures_of_the_hold_that_steam_would_not_have_are_asked_about(
    values, declared, is_gauge, asked
):
    series = pl.Series(values, dtype=pl.Float64)
    hint = pressure_hint(series, declared, is_gauge, SEA, pl.Series([134.0] * len(values)))
    assert (hint is None) if asked is None else (asked in hint)


@pytest.mark.parametrize(
    ("values", "declared", "is_gauge", "asked"),
    [
        ([-88.0, -80.0], None, False, "gauge = true"),
        ([-88.0, -80.0], None, True, None),
        ([120.0, 180.0], None, False, "is it mbar?"),
        ([12.0, 18.0], None, False, None),
        ([120.0, 180.0], "mbar", False, None),
    ],
)
def test_a_vacuum_is_below_the_air_and_above_nothing(values, declared, is_gauge, asked):
    hint = vacuum_hint(pl.Series(values), declared, is_gauge)
    assert (hint is None) if asked is None else (asked in hint)
