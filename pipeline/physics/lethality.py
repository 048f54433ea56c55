"""Lethality of a cycle: the minutes at a reference temperature that would kill as much.

A figure for comparison. Whether an instrument cycle was good is told by temperature, time and
pressure, never by this: 15 min at 121 °C miss 15 min at 121.1 °C.
"""

import math
from dataclasses import dataclass

import numpy as np

from pipeline.physics import segments
from pipeline.physics.compiled import compiled
from pipeline.physics.exponential import exponential
from pipeline.physics.reason import Codes, Floats, Reason, first_reason
from pipeline.physics.samples import Columns, Trace, Traces, trace_at, with_temperature

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
    per_kelvin = math.log(10) / z_kelvin
    minutes = _counted_seconds(believed.columns, reference_celsius, per_kelvin) / 60
    gap = np.where(believed.has_gap, Reason.GAP, Reason.NONE).astype(np.uint8)
    reasons = first_reason(traces.reasons(), traces.celsius_reasons, gap)
    minutes = np.where(reasons == Reason.NONE, minutes, np.nan)
    return Lethality(minutes, reasons, reference_celsius, z_kelvin, believed.step_seconds)


@compiled
def _counted_seconds(columns: Columns, reference_celsius: float, per_kelvin: float) -> Floats:
    """What each cycle counts; 0 below two samples."""
    out = np.zeros(len(columns.step_seconds))
    rates = np.empty(segments.longest(columns.offsets))
    for row in range(len(out)):
        trace = trace_at(columns, row)
        count = len(trace.seconds)
        if count >= 2:
            out[row] = _counted(trace, reference_celsius, per_kelvin, rates[:count])
    return out


@compiled
def _counted(trace: Trace, reference_celsius: float, per_kelvin: float, rate: Floats) -> float:
    """Sum of the steps of a cycle, each times the mean rate between its ends.

    That mean is (b - a) / (ln b - ln a), or b when a is b. `rate` is room for one a sample.
    """
    seconds, celsius = trace.seconds, trace.celsius
    for at in range(len(rate)):
        rate[at] = exponential((celsius[at] - reference_celsius) * per_kelvin)
    count = len(rate) - 1
    for at in range(count):
        rise = (celsius[at + 1] - celsius[at]) * per_kelvin
        slope = (rate[at + 1] - rate[at]) / rise
        level = (rate[at + 1] + rate[at]) / 2
        rate[at] = (level if abs(rise) < _NEARLY_EQUAL else slope) * (seconds[at + 1] - seconds[at])
    # The second half is added to the first again and again, several at a time.
    while count > 1:
        half = (count + 1) // 2
        for at in range(count - half):
            rate[at] += rate[at + half]
        count = half
    return rate[0]
