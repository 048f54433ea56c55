"""Lethality of a cycle: the minutes at a reference temperature that would kill as much.

A figure for comparison. Whether an instrument cycle was good is told by temperature, time and
pressure, never by this: 15 min at 121 °C miss 15 min at 121.1 °C.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.physics import segments
from pipeline.physics.reason import Codes, Floats, Reason, first_reason
from pipeline.physics.samples import Traces, celsius_reasons, with_temperature
from pipeline.physics.steps import CHUNK

REFERENCE_CELSIUS = 121.1
"""Common in texts on sterilization; others take 121.0 or 250 °F, 2.3 % lower or 0.3 % higher."""
Z_KELVIN = 10.0
"""Kelvin for a tenfold rate of kill, by convention for moist heat; spores differ."""
_NEARLY_EQUAL = 1e-4
"""In natural logarithms; below it the mean of both ends is right to 1 part in 10^9."""


@dataclass(frozen=True, slots=True, eq=False)
class Lethality:
    """Minutes a cycle, not a number where a reason stands, and what they were computed with."""

    minutes: Floats
    reasons: Codes
    reference_celsius: float
    z_kelvin: float
    step_seconds: Floats


def lethality(
    traces: Traces, reference_celsius: float = REFERENCE_CELSIUS, z_kelvin: float = Z_KELVIN
) -> Lethality:
    """Integral of 10^((T - reference) / z) over each cycle, in minutes.

    Between two samples the temperature is taken to go straight, for which the integral has a closed
    form; so the step of sampling adds no error of its own on ramps, where trapezoids read high.
    Not told across a gap where it is hot, nor from instants that are in doubt.
    """
    believed, _ = with_temperature(traces)
    minutes = _counted_seconds(believed, reference_celsius, np.log(10) / z_kelvin) / 60
    gap = np.where(believed.has_gap, Reason.GAP, Reason.NONE).astype(np.uint8)
    reasons = first_reason(traces.reasons(), celsius_reasons(traces, believed), gap)
    minutes = np.where(reasons == Reason.NONE, minutes, np.nan)
    return Lethality(minutes, reasons, reference_celsius, z_kelvin, believed.step_seconds)


def _counted_seconds(traces: Traces, reference_celsius: float, per_kelvin: float) -> Floats:
    """What each cycle counts, in seconds; 0 below two samples."""
    at, seconds = traces.offsets, traces.elapsed_seconds
    out = np.zeros(len(traces))
    many = np.flatnonzero(np.diff(at) >= 2)
    for rows in np.split(many, np.flatnonzero(np.diff(at[many] // CHUNK)) + 1):
        if not len(rows):
            break
        begin, end = at[rows[0]], at[rows[-1] + 1]
        exponent = traces.celsius[begin:end] - reference_celsius
        exponent *= per_kelvin
        way = _mean_rate(exponent)
        uneven = rows[~traces.is_even[rows]]
        index, _ = segments.stretches(at[uneven], at[uneven + 1] - 1)
        way[index - begin] *= seconds[index + 1] - seconds[index]
        out[rows] = segments.reduced_between(
            np.add, way, at[rows] - begin, at[rows + 1] - 2 - begin
        )
    even = many[traces.is_even[many]]
    out[even] *= traces.step_seconds[even]
    return out


def _mean_rate(exponent: Floats) -> Floats:
    """Between each two of these logarithms of rates: (b - a) / (ln b - ln a), or b when a is b.

    Writes over what it is given.
    """
    rise = np.diff(exponent)
    rate = np.exp(exponent, out=exponent)
    mean = np.diff(rate)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean /= rise
    level = np.flatnonzero(np.abs(rise, out=rise) < _NEARLY_EQUAL)
    mean[level] = (rate[level] + rate[level + 1]) / 2
    return mean
