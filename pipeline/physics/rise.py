"""The shape of a pressure before the hold: pulses, the foot of the last rise, and its end."""

import numpy as np

from pipeline.physics import segments
from pipeline.physics.reason import Flags, Floats, Whole

_RISE_SHARE = 0.75
"""Pulses of air removal stay below this share of the hold's pressure."""
_FALL_KPA = 3.0
"""A fall of this size is a pulse, a smaller one noise. Common practice, no source."""
_FLAT_KPA = 0.3
_LOW_SHARE, _HIGH_SHARE = 0.5, 0.9
_NEAR, _WIDER = 24, 4
"""Rises are looked at in tables of so many samples, and of so many times more for longer ones."""
_LEVELS = (0.25, 0.5, 0.75)


def foot_of_rise(kpa: Floats, first: Whole, top: Whole) -> Whole:
    """Last sample at the foot of the rise that leads to `top`, looked for from `first` on.

    Going back from the top the pressure falls to the foot and rises again into the last pulse, or
    ends at the beginning of the trace.
    """
    below = segments.last_below(kpa, first, top, _RISE_SHARE * kpa[top])
    end = np.where(below >= 0, below, first)
    lowest = segments.reduced_between(np.minimum, kpa, first, end)
    # A pulse before the last of the deepest samples changes nothing.
    begin = segments.last_below(kpa, first, end, lowest)
    foot, left, width = begin.copy(), np.flatnonzero(end > begin), _NEAR
    while len(left):
        width = min(width, len(kpa))
        is_fit = end[left] - begin[left] < width
        now = left[is_fit]
        foot[now] = _foot_in(kpa, width, begin[now], end[now])
        left = left[~is_fit]
        width *= _WIDER
    return foot


def _foot_in(kpa: Floats, width: int, first: Whole, end: Whole) -> Whole:
    """The foot from `first`, which is the lowest, to `end`, fewer than so many samples later."""
    begin = np.maximum(end - width + 1, 0)
    values = segments.windows(kpa, begin, width)
    place, last = np.arange(width), end - begin
    cut = np.flatnonzero(last < width - 1)
    values[cut] = np.where(place > last[cut, None], np.inf, values[cut])
    lowest_after = np.minimum.accumulate(values[:, ::-1], axis=1)[:, ::-1]
    with np.errstate(invalid="ignore"):
        pulse = _last(values - lowest_after > _FALL_KPA)
    # What lies before the first sample is no pulse of this rise.
    rise = np.maximum(pulse + 1, first - begin)
    lowest = lowest_after[np.arange(len(rise)), rise]
    return begin + _last(values <= (lowest + _FLAT_KPA)[:, None])


def _last(is_so: Flags) -> Whole:
    """For each row the last place where it is so, or -1."""
    at = is_so.shape[1] - 1 - is_so[:, ::-1].argmax(axis=1)
    return np.where(is_so[np.arange(len(at)), at], at, -1)


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
    before = np.flatnonzero(is_above[:-1] & ~is_above[1:])
    begins, ends = clear[before], clear[before + 1]
    row = np.searchsorted(offsets, ends, side="right") - 1
    # The first of a stretch is no fall from the last of the one before.
    return np.bincount(row[begins >= offsets[row]], minlength=len(offsets) - 1)


def knee_seconds(
    seconds: Floats, kpa: Floats, foot: Whole, hot: Whole, level_kpa: Floats
) -> Floats:
    """When the rise, drawn on straight from half and nine tenths of the plateau, gets to it.

    The instant of `hot` where the rise is too short to be drawn, and never before it.
    """
    low_at, high_at = (
        _crossing(seconds, kpa, segments.last_below(kpa, foot, hot, level), level)
        for level in (_LOW_SHARE * level_kpa, _HIGH_SHARE * level_kpa)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        seconds_a_share = (high_at - low_at) / (_HIGH_SHARE - _LOW_SHARE)
    knee = high_at + (1 - _HIGH_SHARE) * seconds_a_share
    return np.fmax(np.where(seconds_a_share > 0, knee, np.nan), seconds[hot])


def _crossing(seconds: Floats, kpa: Floats, at: Whole, level: Floats) -> Floats:
    """When the pressure rises through a level after these samples.

    Not a number for sample -1, and where it does not rise.
    """
    before = np.maximum(at, 0)
    after = np.minimum(before + 1, len(kpa) - 1)
    rise = kpa[after] - kpa[before]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (level - kpa[before]) / rise
    at_seconds = seconds[before] + share * (seconds[after] - seconds[before])
    return np.where((at >= 0) & (rise > 0), at_seconds, np.nan)
