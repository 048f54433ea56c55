"""The checks that tell gauge from absolute pressure, against the saturation line of IAPWS R7-97.

Reference: the package `iapws`. The rule's own line goes through two points, 121 and 134 °C, and
needs to be right to a few per cent only.
"""

import duckdb
import pytest
from iapws import IAPWS97

from pipeline.base.quantity import standard_atmosphere_kpa
from pipeline.config.rules import rules
from pipeline.warehouse.connection import open_memory

RULE = {rule.rule_id: rule for rule in rules()}
LINE = "exp(17.6777 - 4869.5 / ({celsius} + 273.15))"
AIR = "101.325 * pow(1 - 2.25577e-5 * altitude_m, 5.25588)"


def saturation_kpa(celsius: float) -> float:
    return 1000 * IAPWS97(T=celsius + 273.15, x=1).P


@pytest.fixture(scope="module")
def con() -> duckdb.DuckDBPyConnection:
    return open_memory()


def of_sql(con: duckdb.DuckDBPyConnection, expression: str) -> float:
    row = con.execute(f"SELECT {expression}").fetchone()
    assert row is not None
    return row[0]


@pytest.mark.parametrize("rule_id", ["CYC-22", "CYC-23"])
def test_the_rules_use_the_line_that_is_tried_here(rule_id):
    query = RULE[rule_id].settings["unexpected_rows_query"]
    column = {"CYC-22": "hold_min_celsius", "CYC-23": "hold_max_celsius"}[rule_id]
    assert LINE.format(celsius=f"coalesce(new.{column}, new.set_celsius)") in query
    assert AIR in query


@pytest.mark.parametrize("celsius", range(110, 141, 5))
def test_the_line_is_that_of_saturated_steam(con, celsius):
    assert of_sql(con, LINE.format(celsius=celsius)) == pytest.approx(
        saturation_kpa(celsius), rel=0.004
    )


@pytest.mark.parametrize(
    ("altitude_m", "kpa"), [(0, 101.325), (500, 95.46), (1500, 84.56), (2500, 74.68)]
)
def test_the_air_pressure_is_that_of_the_standard_atmosphere(con, altitude_m, kpa):
    """ICAO standard atmosphere; figures as commonly tabulated, from memory."""
    found = of_sql(con, AIR.replace("altitude_m", str(altitude_m)))
    assert found == pytest.approx(kpa, abs=0.01)
    assert found == pytest.approx(standard_atmosphere_kpa(altitude_m), rel=1e-12)


@pytest.mark.parametrize("rule_id", ["RDG-10", "RDG-11"])
def test_no_saturated_steam_above_130_celsius_is_taken_for_another_unit(rule_id):
    query = RULE[rule_id].settings["unexpected_rows_query"]
    assert "max(chamber_celsius) > 130" in query
    assert saturation_kpa(130) > 250
    assert all(150 < saturation_kpa(celsius) - 101.325 < 250 for celsius in (130, 134, 138))


@pytest.mark.parametrize("celsius", [115, 121, 126, 132, 134, 137])
@pytest.mark.parametrize("air_kpa", [101.325, 84.56, 74.68])
def test_absolute_pressure_is_never_within_15_per_cent_of_gauge_pressure(celsius, air_kpa):
    """So that a unit logging absolute pressure is not held, even 2 K above or below the line."""
    gauge = saturation_kpa(celsius) - air_kpa
    assert saturation_kpa(celsius - 2) > 1.15 * gauge


def test_the_leak_limit_lies_within_the_plausible_rates():
    """1.3 mbar/min, reported of HTM 2010 and EN 285; in kPa/min by definition."""
    [low, high] = [RULE["CYC-40"].settings[name] for name in ("min_value", "max_value")]
    assert low < 1.3 / 10 < high


def test_fahrenheit_programs_cannot_be_celsius_and_celsius_programs_can():
    """250, 270, 273 and 275 °F are 121.1, 132.2, 133.9 and 135.0 °C by definition."""
    for rule_id in ("CYC-14", "CYC-15", "CYC-16", "RDG-08"):
        high = RULE[rule_id].settings["max_value"]
        assert all(fahrenheit > high for fahrenheit in (250, 270, 273, 275))
        assert all((fahrenheit - 32) / 1.8 < high for fahrenheit in (250, 270, 273, 275))
