"""The shape of a pressure before the hold: pulses, the foot of the last rise, and its end."""

import numpy as np

from pipeline.physics import segments
from pipeline.physics.reason import Floats, Whole

_RISE_SHARE = 0.75
"""Pulses of air removal stay below this share of the hold's pressure."""
_FALL_KPA = 3.0
"""A fall of this size is a pulse, a smaller one noise. Common practice, no source."""
_FLAT_KPA = 0.3
_FAR_APART_KPA = 4096.0
"""More than pressures can differ, and a power of two: sums with it lose next to nothing."""
_LOW_SHARE, _HIGH_SHARE = 0.5, 0.9
_LEVELS = (0.25, 0.5, 0.75)


def foot_of_rise(kpa: Floats, first: Whole, top: Whole) -> Whole:
    """Last sample at the foot of the rise that leads to `top`, looked for from `first` on.

    Going back from the top the pressure falls to the foot and rises again into the last pulse, or
    ends at the beginning of the trace.
    """
    below = segments.last_below(kpa, first, top, _RISE_SHARE * kpa[top])
    end = np.where(below >= 0, below, first)
    index, offsets = segments.stretches(first, end + 1)
    values = kpa[index]
    lowest_after = _lowest_after(values, offsets)
    is_pulse = values - lowest_after > _FALL_KPA
    begin = np.maximum(segments.last_where(is_pulse, offsets) + 1, offsets[:-1])
    foot_kpa = np.repeat(lowest_after[begin], np.diff(offsets)) + _FLAT_KPA
    return index[segments.last_where(values <= foot_kpa, offsets)]


def _lowest_after(values: Floats, offsets: Whole) -> Floats:
    """For each element the lowest of it and those after it in its stretch."""
    # Each stretch is shifted below all that follow it, so the running minimum starts anew in it.
    shift = _FAR_APART_KPA * segments.rows_of(offsets)
    return np.minimum.accumulate((values + shift)[::-1])[::-1] - shift


def pulse_count(kpa: Floats, offsets: Whole) -> Whole:
    """How often the pressure came down through a middle level in each stretch.

    Pulses differ in height, so three levels are tried and the most crossed one counts; to count, it
    must be crossed by half the size of a pulse on both sides.
    """
    lowest = segments.reduced(np.minimum, kpa, offsets, np.nan)
    highest = segments.reduced(np.maximum, kpa, offsets, np.nan)
    counts = [_falls(kpa, offsets, lowest + share * (highest - lowest)) for share in _LEVELS]
    return np.max(counts, axis=0)


def _falls(kpa: Floats, offsets: Whole, level: Floats) -> Whole:
    off = kpa - np.repeat(level, np.diff(offsets))
    clear = np.flatnonzero(np.abs(off) >= _FALL_KPA / 2)
    is_above = off[clear] > 0
    bounds = np.searchsorted(clear, offsets)
    is_fall = np.zeros(len(clear) + 1, dtype=np.int64)
    is_fall[1:-1] = is_above[:-1] & ~is_above[1:]
    # The first of a stretch is no fall from the last of the one before.
    is_fall[bounds[:-1]] = 0
    fallen = np.concatenate([[0], np.cumsum(is_fall[: len(clear)])])
    return np.diff(fallen[bounds])


def knee_seconds(
    seconds: Floats, kpa: Floats, foot: Whole, hot: Whole, level_kpa: Floats
) -> Floats:
    """When the rise, drawn on straight from half and nine tenths of the plateau, gets to it.

    The instant of `hot` where the rise is too short to be drawn, and never before it.
    """
    index, offsets = segments.stretches(foot, hot + 1)
    share_reached = kpa[index] / np.repeat(level_kpa, np.diff(offsets))
    low_at, high_at = (
        _crossing(seconds, kpa, index, segments.last_where(share_reached <= share, offsets), level)
        for share, level in ((one, one * level_kpa) for one in (_LOW_SHARE, _HIGH_SHARE))
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        seconds_a_share = (high_at - low_at) / (_HIGH_SHARE - _LOW_SHARE)
    knee = high_at + (1 - _HIGH_SHARE) * seconds_a_share
    return np.fmax(np.where(seconds_a_share > 0, knee, np.nan), seconds[hot])


def _crossing(seconds: Floats, kpa: Floats, index: Whole, at: Whole, level: Floats) -> Floats:
    """When the pressure rises through a level after the sample at these places of the index.

    Not a number for place -1, and where it does not rise.
    """
    before = index[np.maximum(at, 0)]
    after = np.minimum(before + 1, len(kpa) - 1)
    rise = kpa[after] - kpa[before]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (level - kpa[before]) / rise
    at_seconds = seconds[before] + share * (seconds[after] - seconds[before])
    return np.where((at >= 0) & (rise > 0), at_seconds, np.nan)
