"""The shape of a pressure before the hold: pulses, the foot of the last rise, and its end."""

import numpy as np

from pipeline.physics import segments
from pipeline.physics.compiled import compiled
from pipeline.physics.reason import Floats

_RISE_SHARE = 0.75
"""Pulses of air removal stay below this share of the hold's pressure."""
_FALL_KPA = 3.0
"""A fall of this size is a pulse, a smaller one noise. Common practice, no source."""
_FLAT_KPA = 0.3
_LOW_SHARE, _HIGH_SHARE = 0.5, 0.9
_LEVELS = (0.25, 0.5, 0.75)


@compiled
def foot_of_rise(kpa: Floats) -> int:
    """Last sample at the foot of the rise that leads to the last one of these.

    Going back from the top the pressure falls to the foot and rises again into the last pulse, or
    ends at the beginning of the trace.
    """
    at = end = max(segments.last_below(kpa, _RISE_SHARE * kpa[-1]), 0)
    lowest = kpa[end]
    while at > 0 and kpa[at - 1] - lowest <= _FALL_KPA:
        at -= 1
        lowest = min(lowest, kpa[at])
    return segments.last_below(kpa[: end + 1], lowest + _FLAT_KPA)


@compiled
def pulse_count(kpa: Floats) -> int:
    """How often the pressure came down through a middle level.

    Pulses differ in height, so three levels are tried and the most crossed one counts; to count, it
    must be crossed by half the size of a pulse on both sides.
    """
    lowest, highest, most = segments.lowest(kpa), segments.highest(kpa), 0
    for share in _LEVELS:
        most = max(most, _falls(kpa, lowest + share * (highest - lowest)))
    return most


@compiled
def _falls(kpa: Floats, level: float) -> int:
    count, was_above = 0, False
    for at in range(len(kpa)):
        if kpa[at] - level >= _FALL_KPA / 2:
            was_above = True
        elif kpa[at] - level <= -_FALL_KPA / 2:
            count += was_above
            was_above = False
    return count


@compiled
def knee_seconds(seconds: Floats, kpa: Floats, hot: int, level_kpa: float) -> float:
    """When the rise, drawn on straight from half and nine tenths of the plateau, gets to it.

    `seconds` and `kpa` begin at its foot. The instant of `hot` where the rise is too short to be
    drawn, and never before it.
    """
    low_at = _crossing(seconds[: hot + 2], kpa[: hot + 2], _LOW_SHARE * level_kpa)
    high_at = _crossing(seconds[: hot + 2], kpa[: hot + 2], _HIGH_SHARE * level_kpa)
    if not high_at > low_at:
        return seconds[hot]
    seconds_a_share = (high_at - low_at) / (_HIGH_SHARE - _LOW_SHARE)
    return max(seconds[hot], high_at + (1 - _HIGH_SHARE) * seconds_a_share)


@compiled
def _crossing(seconds: Floats, kpa: Floats, level: float) -> float:
    """When the pressure last rises through a level; not a number where it does not."""
    at = segments.last_below(kpa[:-1], level)
    if at < 0 or not kpa[at + 1] > kpa[at]:
        return np.nan
    share = (level - kpa[at]) / (kpa[at + 1] - kpa[at])
    return seconds[at] + share * (seconds[at + 1] - seconds[at])
