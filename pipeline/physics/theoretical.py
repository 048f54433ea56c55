"""Measured against theoretical temperature: what the pressure says that steam should have.

A lower measurement means air that is left, or a cold probe; a higher one superheat, or a pressure
that reads low. A pressure that fits only in another unit of measure is no physics at all.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from pipeline.physics import segments
from pipeline.physics.compiled import compiled
from pipeline.physics.hold import Hold
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole, first_reason
from pipeline.physics.samples import Traces
from pipeline.physics.steam import LOWEST_KPA, boiling_celsius, saturation_celsius

AGREEMENT_KELVIN = 2.0
"""From memory of EN 285 and EN 13060; the indicator standards call 2 K below a failed test."""
_PSI_KPA, _BAR_KPA = 6.894757, 100.0

_boils_at = compiled(boiling_celsius)


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


def is_unit_slip(meanings: Codes) -> Flags:
    """True where the pair of values agrees only in another unit of measure."""
    return meanings >= Meaning.GAUGE_AS_ABSOLUTE


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
    kelvin, celsius, kpa = _middles(hold.first, hold.last, traces.celsius, traces.kpa)
    absent = np.where(hold.first < 0, Reason.NO_HOLD, Reason.NONE).astype(np.uint8)
    unknown = np.where(np.isnan(kelvin), Reason.KPA_DOUBTFUL, Reason.NONE).astype(np.uint8)
    reasons = first_reason(hold.reasons, absent, unknown)
    meanings = np.where(np.abs(kelvin) <= AGREEMENT_KELVIN, Meaning.AGREES, Meaning.NOT_TOLD)
    odd = np.abs(kelvin) > AGREEMENT_KELVIN
    meanings[odd] = meaning_of(celsius[odd], kpa[odd], ambient_kpa[odd])
    slip = np.where(is_unit_slip(meanings), Reason.UNIT_SLIP, Reason.NONE)
    reasons = first_reason(reasons, slip.astype(np.uint8))
    return Departure(kelvin, meanings.astype(np.uint8), reasons)


@compiled
def _middles(
    first: Whole, last: Whole, celsius: Floats, kpa: Floats
) -> tuple[Floats, Floats, Floats]:
    """Middle difference of each hold, and where it is large the middle °C and kPa too."""
    middles = np.full((3, len(first)), np.nan)
    for row in range(len(first)):
        if first[row] >= 0:
            third = (last[row] - first[row] + 1) // 3
            begin, end = first[row] + third, last[row] + 1 - third
            _fill_middles(celsius[begin:end], kpa[begin:end], middles[:, row])
    return middles[0], middles[1], middles[2]


@compiled
def _fill_middles(celsius: Floats, kpa: Floats, middles: Floats) -> None:
    off, known_count = np.empty(len(kpa)), 0
    for at in range(len(kpa)):
        off[at] = celsius[at] - _boils_at(kpa[at] if kpa[at] >= LOWEST_KPA else np.nan)
        known_count += not np.isnan(off[at])
    if 2 * known_count >= len(kpa):
        middles[0] = segments.middle_of_known(off)
        if abs(middles[0]) > AGREEMENT_KELVIN:
            middles[1], middles[2] = (
                segments.middle_of_known(celsius),
                segments.middle_of_known(kpa),
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
    if not is_far.any():
        return out
    for meaning, (as_celsius, as_kpa) in slips.items():
        fits = np.abs(as_celsius - saturation_celsius(as_kpa)) <= AGREEMENT_KELVIN
        out[is_far & fits & ~is_unit_slip(out)] = meaning
    return out


_FAR_KELVIN = 8.0
"""At 2 500 m the air is still 75 kPa, which is 9 K at 134 °C and more below."""
