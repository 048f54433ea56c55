"""The saturation line against the tables of its release, and against a library of its own.

Source: IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997, tables 35
and 36 (values as printed there). Reference implementations: the `iapws` package, and CoolProp,
which has the same equations and, beside them, those for science, IAPWS R6-95(2018).
"""

import iapws
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from pipeline.base.quantity import standard_atmosphere_kpa
from pipeline.physics.steam import saturation_celsius, saturation_kpa

KELVIN = 273.15


@pytest.mark.parametrize(
    ("kelvin", "megapascal"),
    [
        (300, 0.353658941e-2),
        (500, 0.263889776e1),
        (600, 0.123443146e2),
    ],
)
def test_pressure_is_that_of_table_35(kelvin, megapascal):
    assert saturation_kpa(kelvin - KELVIN) == pytest.approx(megapascal * 1000, rel=5e-9)


@pytest.mark.parametrize(
    ("megapascal", "kelvin"),
    [
        (0.1, 0.372755919e3),
        (1, 0.453035632e3),
        (10, 0.584149488e3),
    ],
)
def test_temperature_is_that_of_table_36(megapascal, kelvin):
    assert saturation_celsius(megapascal * 1000) + KELVIN == pytest.approx(kelvin, rel=5e-9)


def test_both_directions_agree_with_the_reference_library_from_5_to_145_celsius():
    celsius = np.arange(5.0, 145.5, 0.5)
    reference_kpa = [iapws.iapws97._PSat_T(one + KELVIN) * 1000 for one in celsius]
    assert saturation_kpa(celsius) == pytest.approx(reference_kpa, rel=1e-12)
    reference_celsius = [iapws.iapws97._TSat_P(one / 1000) - KELVIN for one in reference_kpa]
    assert saturation_celsius(reference_kpa) == pytest.approx(reference_celsius, abs=1e-9)


def test_the_line_is_that_of_coolprop_from_5_to_145_celsius():
    celsius = np.arange(5.0, 145.5, 0.5)
    kpa = [PropsSI("P", "T", one + KELVIN, "Q", 1, "IF97::Water") / 1000 for one in celsius]
    assert saturation_kpa(celsius) == pytest.approx(kpa, rel=1e-12)
    back = [PropsSI("T", "P", one * 1000, "Q", 1, "IF97::Water") - KELVIN for one in kpa]
    assert saturation_celsius(kpa) == pytest.approx(back, abs=1e-9)


def test_the_line_is_within_5_millikelvin_of_the_equations_for_science():
    celsius = np.arange(5.0, 145.5, 0.5)
    kpa = [PropsSI("P", "T", one + KELVIN, "Q", 1, "HEOS::Water") / 1000 for one in celsius]
    assert saturation_celsius(kpa) == pytest.approx(celsius, abs=5e-3)


def test_both_directions_undo_each_other_to_a_thousandth_of_a_kelvin():
    # The release makes no stronger promise: its two equations come from one implicit one.
    celsius = np.linspace(0.01, 373.9, 4001)
    assert saturation_celsius(saturation_kpa(celsius)) == pytest.approx(celsius, abs=1e-3)


# Steam at 120 °C by a home-canning table, which prints 14.1 psi at the sea and 16 at 4 000 ft.
# The table is quoted from memory; each figure is believed to half of its last printed place.
@pytest.mark.parametrize(
    ("altitude_m", "psi_gauge", "within"),
    [
        (0, 14.1, 0.05),
        (1219.2, 16, 0.5),
    ],
)
def test_gauge_pressures_agree_with_a_canning_table(altitude_m, psi_gauge, within):
    kpa = saturation_kpa(120) - standard_atmosphere_kpa(altitude_m)
    assert kpa / 6.894757 == pytest.approx(psi_gauge, abs=within)


@pytest.mark.parametrize("celsius", [-0.1, 374.0, float("nan")])
def test_there_is_no_pressure_off_the_line(celsius):
    assert np.isnan(saturation_kpa(celsius))


@pytest.mark.parametrize("kpa", [0.6, 0.0, -5.0, 22065.0, float("nan")])
def test_there_is_no_temperature_off_the_line(kpa):
    assert np.isnan(saturation_celsius(kpa))
