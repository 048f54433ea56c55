"""A probe that stands still: its temperature does not move while the pressure does."""

import numpy as np

from pipeline.physics.compiled import compiled
from pipeline.physics.hold import Hold
from pipeline.physics.reason import Flags, Floats, Whole
from pipeline.physics.samples import Traces
from pipeline.physics.steam import LOWEST_KPA, saturation_celsius

_LEAST_SAMPLES = 12
_STEAM_MOVED_KELVIN = 3.0
"""By so much the steam moved, by its pressure; probes that tell whole degrees hide up to 1 K.

Common practice, no source.
"""


def is_frozen(traces: Traces, hold: Hold) -> Flags:
    """True where the last samples of a hold are all the same, and the steam's temperature is not.

    A probe that stands still while it is hot makes any hold look long enough, and steady too.
    """
    lowest, highest = _while_still(hold.first, hold.last, traces.celsius, traces.kpa)
    return saturation_celsius(highest) - saturation_celsius(lowest) >= _STEAM_MOVED_KELVIN


@compiled
def _while_still(first: Whole, last: Whole, celsius: Floats, kpa: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest pressure of the unmoved end of each hold; not a number below so many."""
    lowest, highest = np.full(len(first), np.nan), np.full(len(first), np.nan)
    for row in range(len(first)):
        count, low, high, at = 0, np.inf, 0.0, last[row]
        while first[row] <= at and at >= 0 and celsius[at] == celsius[last[row]]:
            if kpa[at] >= LOWEST_KPA:
                count, low, high = count + 1, min(low, kpa[at]), max(high, kpa[at])
            at -= 1
        if count >= _LEAST_SAMPLES:
            lowest[row], highest[row] = low, high
    return lowest, highest
