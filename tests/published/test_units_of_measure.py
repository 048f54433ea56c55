"""Factors between units of measure against figures printed elsewhere."""

import pytest
from scipy import constants

from pipeline.base.quantity import UNITS, standard_atmosphere_kpa, unit_of


def converted(target: str, unit: str, value: float) -> float:
    factor, offset = unit_of(target, unit)
    return value * factor + offset


# NIST Special Publication 811 (2008), appendix B.8, to pascal: pound-force per square inch, inch
# and millimetre of mercury (conventional), kilogram-force per square centimetre, bar, millibar.
@pytest.mark.parametrize(
    ("unit", "kpa"),
    [
        ("psi", 6.894757),
        ("inHg", 3.386389),
        ("mmHg", 0.1333224),
        ("kgf/cm2", 98.0665),
        ("bar", 100.0),
        ("mbar", 0.1),
        ("hPa", 0.1),
    ],
)
def test_one_of_each_pressure_unit_is_what_nist_sp_811_prints(unit: str, kpa: float) -> None:
    assert converted("hold_min_kpa", unit, 1.0) == pytest.approx(kpa, rel=1e-9)


# scipy.constants, which has them from CODATA 2022 and SP 811: pascal in one of each.
def test_the_factors_agree_with_those_of_a_reference_library() -> None:
    for unit, pascal in {
        "psi": constants.psi,
        "mmHg": constants.mmHg,
        "bar": constants.bar,
        "kgf/cm2": constants.kilogram_force / constants.centi**2,
    }.items():
        assert converted("hold_min_kpa", unit, 1.0) * 1000 == pytest.approx(pascal, rel=2e-6)
    for unit, name in {"degF": "Fahrenheit", "K": "Kelvin"}.items():
        for value in (250.0, 273.15, 407.15):
            celsius = constants.convert_temperature(value, name, "Celsius")
            assert converted("set_celsius", unit, value) == pytest.approx(celsius, abs=1e-9)


# The same from definitions: pound 0.45359237 kg, inch 25.4 mm, g 9.80665 m/s2 (SP 811, B.6);
# mercury of density 13 595.1 kg/m3 (conventional, ISO 80000-4 remarks).
@pytest.mark.parametrize(
    ("unit", "kpa"),
    [
        ("psi", 0.45359237 * 9.80665 / 0.0254**2 / 1000),
        ("inHg", 13595.1 * 9.80665 * 0.0254 / 1000),
        ("mmHg", 13595.1 * 9.80665 * 0.001 / 1000),
    ],
)
def test_the_printed_factors_agree_with_their_definitions(unit: str, kpa: float) -> None:
    assert converted("hold_min_kpa", unit, 1.0) == pytest.approx(kpa, rel=2e-7)


# SP 811, B.8: t/degC = (t/degF - 32)/1.8 and t/degC = T/K - 273.15, at the trade's set points.
@pytest.mark.parametrize(
    ("unit", "value", "celsius"),
    [
        ("degF", 32.0, 0.0),
        ("degF", 212.0, 100.0),
        ("degF", 250.0, 121.11),
        ("degF", 270.0, 132.22),
        ("degF", 273.0, 133.89),
        ("degF", 275.0, 135.00),
        ("K", 273.15, 0.0),
        ("K", 407.15, 134.0),
    ],
)
def test_temperatures_meet_their_fixed_points(unit: str, value: float, celsius: float) -> None:
    assert converted("set_celsius", unit, value) == pytest.approx(celsius, abs=0.005)


# A leak of 1.3 mbar a minute, the usual limit, in other units; recomputed by hand from SP 811.
@pytest.mark.parametrize(
    ("unit", "value"),
    [("mbar/min", 1.3), ("mmHg/min", 0.9751), ("inHg/min", 0.0384), ("psi/min", 0.01885)],
)
def test_a_leak_rate_is_the_same_in_every_unit(unit: str, value: float) -> None:
    assert converted("leak_kpa_per_minute", unit, value) == pytest.approx(0.13, rel=1e-3)


# Standard atmosphere, ISO 2533:1975 (as ICAO Doc 7488), geopotential metres; figures from memory.
@pytest.mark.parametrize(
    ("altitude_m", "kpa"),
    [(-500, 107.477), (0, 101.325), (500, 95.461), (1000, 89.874), (2000, 79.495), (3000, 70.108)],
)
def test_the_air_thins_as_in_the_standard_atmosphere(altitude_m: float, kpa: float) -> None:
    assert standard_atmosphere_kpa(altitude_m) == pytest.approx(kpa, abs=0.005)


def test_the_first_unit_of_each_dimension_is_ours() -> None:
    assert {name: next(iter(units)) for name, units in UNITS.items()} == {
        "temperature": "degC",
        "pressure": "kPa",
        "pressure rate": "kPa/min",
        "time": "s",
        "hours": "h",
        "conductivity": "uS/cm",
    }
    assert all(next(iter(units.values())) == (1.0, 0.0) for units in UNITS.values())
