"""A probe that stands still: its temperature does not move while the pressure does."""

import numpy as np

from pipeline.physics import segments
from pipeline.physics.hold import Hold
from pipeline.physics.reason import Flags
from pipeline.physics.samples import Traces
from pipeline.physics.steam import saturation_celsius

_LEAST_SAMPLES = 12
_STEAM_MOVED_KELVIN = 3.0
"""By so much the steam moved, by its pressure; probes that tell whole degrees hide up to 1 K.

Common practice, no source.
"""


def is_frozen(traces: Traces, hold: Hold) -> Flags:
    """True where the last samples of a hold are all the same, and the steam's temperature is not.

    A probe that stands still while it is hot makes any hold look long enough, and steady too.
    """
    size = len(traces)
    is_held = hold.first >= 0
    begins, ends = np.where(is_held, hold.first, 0), np.where(is_held, hold.last + 1, 0)
    index, offsets = segments.stretches(begins, ends)
    counts = np.diff(offsets)
    out = np.zeros(size, dtype=np.bool_)
    if not len(index):
        return out
    last = np.repeat(traces.celsius[np.maximum(hold.last, 0)], counts)
    differs = segments.last_where(traces.celsius[index] != last, offsets)
    # Where the unmoved end of the hold begins.
    still = np.where(differs >= 0, differs + 1, offsets[:-1])
    is_still = np.arange(len(index)) >= np.repeat(still, counts)
    still_index = index[is_still]
    still_offsets = np.searchsorted(np.flatnonzero(is_still), offsets)
    steam = saturation_celsius(traces.kpa[still_index])
    known = ~np.isnan(steam)
    bounds = np.searchsorted(np.flatnonzero(known), still_offsets)
    steam = steam[known]
    highest = segments.reduced(np.maximum, steam, bounds, np.nan)
    moved = highest - segments.reduced(np.minimum, steam, bounds, np.nan)
    return (np.diff(bounds) >= _LEAST_SAMPLES) & (moved >= _STEAM_MOVED_KELVIN)
