"""Measured against theoretical temperature: what the pressure says that steam should have.

A lower measurement means air that is left, or a cold probe; a higher one superheat, or a pressure
that reads low. A pressure that fits only in another unit of measure is no physics at all.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from pipeline.physics import segments
from pipeline.physics.hold import Hold
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole, first_reason
from pipeline.physics.samples import Traces
from pipeline.physics.steam import saturation_celsius

AGREEMENT_KELVIN = 2.0
"""From memory of EN 285 and EN 13060; the indicator standards call 2 K below a failed test."""
_PSI_KPA, _BAR_KPA = 6.894757, 100.0


class Meaning(IntEnum):
    """What a difference says; its word is the name in small letters."""

    NOT_TOLD = 0
    AGREES = 1
    AIR_OR_COLD_PROBE = 2
    SUPERHEAT_OR_LOW_PRESSURE = 3
    GAUGE_AS_ABSOLUTE = 4
    ABSOLUTE_AS_GAUGE = 5
    PSI_AS_KPA = 6
    BAR_AS_KPA = 7
    FAHRENHEIT = 8


UNIT_SLIPS = tuple(one for one in Meaning if one >= Meaning.GAUGE_AS_ABSOLUTE)


@dataclass(frozen=True, slots=True, eq=False)
class Departure:
    """T - Tsat(p) in kelvin a cycle, at mid-hold."""

    mid_kelvin: Floats
    meanings: Codes
    reasons: Codes


def find_departure(traces: Traces, hold: Hold, ambient_kpa: Floats) -> Departure:
    """Median over the middle third of each hold, where neither end of it disturbs.

    Told when at least half of the samples there have a pressure. A unit slip is told, not judged:
    its kelvin stay, and its reason says what they are worth.
    """
    count = hold.last - hold.first + 1
    is_held = hold.first >= 0
    begins = np.where(is_held, hold.first, 0)
    ends = np.where(is_held, hold.last + 1, 0)
    third = np.where(is_held, count // 3, 0)
    index, offsets = segments.stretches(begins + third, ends - third)
    kelvin, kpa, celsius = _believed(traces, index)
    mid, is_enough = _median(kelvin, offsets)
    reasons = _reasons(hold, is_enough)
    is_told = reasons == Reason.NONE
    meanings = np.where(np.abs(mid) <= AGREEMENT_KELVIN, Meaning.AGREES, Meaning.NOT_TOLD)
    odd = np.flatnonzero(is_told & (meanings == Meaning.NOT_TOLD))
    if len(odd):
        mid_kpa, _ = _median(kpa, offsets)
        mid_celsius, _ = _median(celsius, offsets)
        meanings[odd] = meaning_of(mid_celsius[odd], mid_kpa[odd], ambient_kpa[odd])
    meanings = np.where(is_told, meanings, Meaning.NOT_TOLD)
    slip = np.where(np.isin(meanings, UNIT_SLIPS), Reason.UNIT_SLIP, Reason.NONE)
    return Departure(
        np.where(is_told, mid, np.nan),
        meanings.astype(np.uint8),
        first_reason(reasons, slip.astype(np.uint8)),
    )


def meaning_of(celsius: Floats, kpa: Floats, ambient_kpa: Floats) -> Codes:
    """What a temperature and an absolute pressure say together, for each pair.

    Another unit of measure is named only when the pair agrees in it and is at least 10 K off as
    it stands: no fault of a chamber that still reached its band goes so far.
    """
    off = celsius - saturation_celsius(kpa)
    out = np.full(len(celsius), Meaning.NOT_TOLD, dtype=np.uint8)
    out[np.abs(off) <= AGREEMENT_KELVIN] = Meaning.AGREES
    out[off < -AGREEMENT_KELVIN] = Meaning.AIR_OR_COLD_PROBE
    out[off > AGREEMENT_KELVIN] = Meaning.SUPERHEAT_OR_LOW_PRESSURE
    slips = {
        Meaning.GAUGE_AS_ABSOLUTE: (celsius, kpa + ambient_kpa),
        Meaning.ABSOLUTE_AS_GAUGE: (celsius, kpa - ambient_kpa),
        Meaning.PSI_AS_KPA: (celsius, kpa * _PSI_KPA),
        Meaning.BAR_AS_KPA: (celsius, kpa * _BAR_KPA),
        Meaning.FAHRENHEIT: ((celsius - 32) / 1.8, kpa),
    }
    # Off the saturation line nothing can be said of the size, but it is far off all the same.
    is_far = ~(np.abs(off) < _FAR_KELVIN) & np.isfinite(celsius) & np.isfinite(kpa)
    for meaning, (as_celsius, as_kpa) in slips.items():
        fits = np.abs(as_celsius - saturation_celsius(as_kpa)) <= AGREEMENT_KELVIN
        out[is_far & fits & ~np.isin(out, UNIT_SLIPS)] = meaning
    return out


_FAR_KELVIN = 8.0
"""At 2 500 m the air is still 75 kPa, which is 9 K at 134 °C and more below."""


def _believed(traces: Traces, index: Whole) -> tuple[Floats, Floats, Floats]:
    kpa, celsius = traces.kpa[index], traces.celsius[index]
    if traces.kpa_is_bad is not None:
        kpa = np.where(traces.kpa_is_bad[index], np.nan, kpa)
    if traces.celsius_is_bad is not None:
        celsius = np.where(traces.celsius_is_bad[index], np.nan, celsius)
    return celsius - saturation_celsius(kpa), kpa, celsius


def _median(values: Floats, offsets: Whole) -> tuple[Floats, Flags]:
    """Median of the known values, and whether they are at least half of all."""
    is_known = ~np.isnan(values)
    known = np.searchsorted(np.flatnonzero(is_known), offsets)
    is_enough = (np.diff(known) > 0) & (2 * np.diff(known) >= np.diff(offsets))
    return segments.medians(values[is_known], known), is_enough


def _reasons(hold: Hold, is_enough: Flags) -> Codes:
    absent = np.where(hold.first < 0, Reason.NO_HOLD, Reason.NONE).astype(np.uint8)
    unknown = np.where(is_enough, Reason.NONE, Reason.KPA_DOUBTFUL).astype(np.uint8)
    return first_reason(hold.reasons, absent, unknown)
