"""What a cycle tells of the state of its unit: one number each, for trends over many cycles."""

from dataclasses import dataclass

import numpy as np

from pipeline.physics.hold import Hold
from pipeline.physics.leak import Leak
from pipeline.physics.phases import Phase, Phases
from pipeline.physics.reason import Floats, Whole
from pipeline.physics.samples import Traces
from pipeline.physics.theoretical import Departure, is_unit_slip


@dataclass(frozen=True, slots=True, eq=False)
class Wear:
    """One entry a cycle; not a number where the cycle does not show it.

    `overshoot_kelvin` is the hottest sample over the lower edge of the band. `drying_seconds` ends
    where the vacuum is left, or with the trace when there was none. `hot_seconds` is the time at or
    above the lower edge, in one run. `mid_hold_kelvin` is measured less theoretical temperature,
    left out where the pressure is in another unit.
    """

    heat_up_seconds: Floats
    equilibration_seconds: Floats
    exhaust_seconds: Floats
    drying_seconds: Floats
    total_seconds: Floats
    hot_seconds: Floats
    depth_kpa: Floats
    pulse_count: Whole
    leak_kpa_per_minute: Floats
    mid_hold_kelvin: Floats
    spread_kelvin: Floats
    overshoot_kelvin: Floats
    reading_count: Whole


def wear_of(
    traces: Traces,
    above_kelvin: Floats,
    plateau: Hold,
    hold: Hold,
    departure: Departure,
    phases: Phases,
    leak: Leak,
) -> Wear:
    """Gather the features.

    `above_kelvin` is how far the hottest sample lies over the lower edge of the band, `plateau` the
    hold in a band without an upper edge.
    """
    dried = phases.seconds(Phase.DRYING, Phase.VENT)
    to_end = phases.seconds(Phase.DRYING, Phase.END)
    return Wear(
        heat_up_seconds=phases.seconds(Phase.HEAT_UP, Phase.HOLD),
        equilibration_seconds=phases.seconds(Phase.EQUILIBRATION, Phase.HOLD),
        exhaust_seconds=phases.seconds(Phase.EXHAUST, Phase.DRYING),
        drying_seconds=np.where(np.isnan(dried), to_end, dried),
        total_seconds=phases.seconds(Phase.FILL, Phase.END),
        hot_seconds=plateau.sure_seconds,
        depth_kpa=phases.depth_kpa,
        pulse_count=phases.pulse_count,
        leak_kpa_per_minute=leak.kpa_per_minute,
        mid_hold_kelvin=np.where(is_unit_slip(departure.meanings), np.nan, departure.mid_kelvin),
        spread_kelvin=hold.spread_kelvin,
        overshoot_kelvin=np.where(hold.first >= 0, above_kelvin, np.nan),
        reading_count=np.diff(traces.offsets),
    )
