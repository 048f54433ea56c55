"""The saturation line of water: at which pressure it boils at a temperature, and the reverse.

In a chamber full of steam, temperature and pressure tell the same thing twice; that is what every
check of the air left behind, or of a sensor, rests on. Pressures are absolute.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

_N = (
    1167.0521452767,
    -724213.16703206,
    -17.073846940092,
    12020.82470247,
    -3232555.0322333,
    14.91510861353,
    -4823.2657361591,
    405113.40542057,
    -0.23855557567849,
    650.17534844798,
)
"""Coefficients of region 4. Source: IAPWS R7-97(2012), table 34."""

_LOWEST_KELVIN, _HIGHEST_KELVIN = 273.15, 647.096
LOWEST_KPA, HIGHEST_KPA = 0.611212677, 22064.0
_ZERO_CELSIUS_KELVIN = 273.15


def saturation_kpa(celsius: ArrayLike) -> NDArray[np.float64]:
    """Pressure at which water boils at these temperatures.

    Not a number outside 0 °C to the critical point, 373.946 °C, where there is no such pressure.
    Source: IAPWS R7-97(2012), equation 30.
    """
    kelvin = np.asarray(celsius, dtype=np.float64) + _ZERO_CELSIUS_KELVIN
    is_on_line = (kelvin >= _LOWEST_KELVIN) & (kelvin <= _HIGHEST_KELVIN)
    kelvin = np.where(is_on_line, kelvin, np.nan)
    theta = kelvin + _N[8] / (kelvin - _N[9])
    a = (theta + _N[0]) * theta + _N[1]
    b = (_N[2] * theta + _N[3]) * theta + _N[4]
    c = (_N[5] * theta + _N[6]) * theta + _N[7]
    root = 2 * c / (-b + np.sqrt(b * b - 4 * a * c))
    return 1000 * root**4


def saturation_celsius(kpa: ArrayLike) -> NDArray[np.float64]:
    """Temperature at which water boils at these pressures.

    Not a number below 0.6112 kPa and above 22 064 kPa. Source: IAPWS R7-97(2012), equation 31.
    """
    pressure = np.asarray(kpa, dtype=np.float64)
    is_on_line = (pressure >= LOWEST_KPA) & (pressure <= HIGHEST_KPA)
    return boiling_celsius(np.where(is_on_line, pressure, np.nan))


def boiling_celsius(kpa: Any) -> Any:
    """The same of pressures on the line: an array, or a number in a compiled loop."""
    beta = np.sqrt(np.sqrt(kpa / 1000))
    e = (beta + _N[2]) * beta + _N[5]
    f = (_N[0] * beta + _N[3]) * beta + _N[6]
    g = (_N[1] * beta + _N[4]) * beta + _N[7]
    d = 2 * g / (-f - np.sqrt(f * f - 4 * e * g))
    total = _N[9] + d
    kelvin = (total - np.sqrt(total * total - 4 * (_N[8] + _N[9] * d))) / 2
    return kelvin - _ZERO_CELSIUS_KELVIN
