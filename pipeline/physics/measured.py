"""All that the readings of many cycles tell, in one call."""

from dataclasses import dataclass

import numpy as np

from pipeline.physics import segments
from pipeline.physics.hold import Hold, find_hold
from pipeline.physics.leak import Leak, find_leak
from pipeline.physics.lethality import Lethality, lethality
from pipeline.physics.phases import Phases, find_phases
from pipeline.physics.reason import Flags, Floats
from pipeline.physics.samples import Traces, with_temperature
from pipeline.physics.theoretical import Departure, find_departure
from pipeline.physics.wear import Wear, wear_of


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """Each part has one entry a cycle, in the order of the traces."""

    lethality: Lethality
    hold: Hold
    departure: Departure
    phases: Phases
    leak: Leak
    wear: Wear


def measure(
    traces: Traces,
    low_celsius: Floats,
    high_celsius: Floats,
    ambient_kpa: Floats,
    is_leak_test: Flags | None = None,
) -> Measured:
    """Measure every cycle in its own band; without a band, not a number, there is no hold.

    `ambient_kpa` is the pressure of the air at the site. Leak rates are looked for in leak tests
    only; none when not said.
    """
    is_test = np.zeros(len(traces), dtype=bool) if is_leak_test is None else is_leak_test
    hold = find_hold(traces, low_celsius, high_celsius)
    believed, _ = with_temperature(traces)
    hottest = segments.highest_of(believed.offsets, believed.celsius)
    plateau = hold
    if np.any(hottest > high_celsius):
        plateau = find_hold(traces, low_celsius, np.where(np.isnan(high_celsius), np.nan, np.inf))
    departure = find_departure(traces, hold, ambient_kpa)
    phases = find_phases(traces, low_celsius, ambient_kpa)
    leak = find_leak(traces, is_test, ambient_kpa)
    wear = wear_of(traces, hottest - low_celsius, plateau, hold, departure, phases, leak)
    return Measured(lethality(traces), hold, departure, phases, leak, wear)
