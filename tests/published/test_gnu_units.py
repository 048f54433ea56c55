"""Every unit of measure against what GNU Units 2.22 prints for it, by its own definitions."""

import pytest

from pipeline.base.quantity import UNITS

# units -t -o '%.12g' 'psi' 'kPa', and so on.
ONE_OF = [
    # dimension       unit          in ours
    ("pressure", "Pa", 0.001),
    ("pressure", "hPa", 0.1),
    ("pressure", "MPa", 1000.0),
    ("pressure", "mbar", 0.1),
    ("pressure", "bar", 100.0),
    ("pressure", "psi", 6.89475729317),
    ("pressure", "inHg", 3.38638864034),
    ("pressure", "mmHg", 0.133322387415),
    ("pressure", "kgf/cm2", 98.0665),
    ("pressure rate", "mbar/min", 0.1),
    ("pressure rate", "psi/min", 6.89475729317),
    ("pressure rate", "inHg/min", 3.38638864034),
    ("pressure rate", "mmHg/min", 0.133322387415),
    ("time", "min", 60.0),
    ("time", "h", 3600.0),
    ("hours", "d", 24.0),
    ("hours", "min", 1 / 60),
    ("conductivity", "mS/cm", 1000.0),
    ("conductivity", "mS/m", 10.0),
]

# units -t -o '%.10g' 'tempF(250)' tempC, and so on.
TEMPERATURES = [
    ("degF", 250, 121.1111111),
    ("degF", 270, 132.2222222),
    ("degF", 273, 133.8888889),
    ("degF", 275, 135.0),
    ("K", 407.15, 134.0),
]


@pytest.mark.parametrize(("dimension", "name", "ours"), ONE_OF)
def test_one_of_a_unit_is_what_gnu_units_prints_to_seven_digits(dimension, name, ours):
    unit = UNITS[dimension][name]
    assert unit.offset == 0
    # NIST SP 811, from which ours are, prints the factors to seven digits.
    assert unit.factor == pytest.approx(ours, rel=2e-7)


@pytest.mark.parametrize(("name", "value", "celsius"), TEMPERATURES)
def test_a_temperature_is_what_gnu_units_prints(name, value, celsius):
    unit = UNITS["temperature"][name]
    assert value * unit.factor + unit.offset == pytest.approx(celsius, abs=1e-7)
