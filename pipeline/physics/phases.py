"""Where the phases of a cycle begin, found in its pressure and temperature.

Air removal begins where the pressure leaves that of the room; heat-up at the foot of the last rise;
the hold where that rise, drawn on, meets the plateau; exhaust with the last sample of the plateau;
drying when the pressure is back at that of the room; vent when it leaves the last vacuum.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from pipeline.physics import segments
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole, first_reason
from pipeline.physics.rise import foot_of_rise, knee_seconds, pulse_count
from pipeline.physics.samples import Traces, celsius_reasons, with_temperature

_STIR_KPA = 1.0
"""More than the noise of a sensor at rest. Common practice, no source."""
_AT_ROOM_KPA = 5.0
"""Weather moves the room's pressure by about 3 kPa."""
_VACUUM_KPA = 15.0
_LEAVES_SHARE = 0.2
_MOST_LOST_SHARE = 0.05
_BELOW_TOP_KELVIN = 1.5


class Phase(IntEnum):
    """Column of `Phases.begins`; the word for each is its name in small letters."""

    FILL = 0
    AIR_REMOVAL = 1
    HEAT_UP = 2
    EQUILIBRATION = 3
    HOLD = 4
    EXHAUST = 5
    DRYING = 6
    VENT = 7
    END = 8


@dataclass(frozen=True, slots=True, eq=False)
class Phases:
    """A row a cycle, a column a phase: index of the sample with which it begins, -1 when not found.

    END is the last sample. `pulse_count` counts how often the pressure came down again in air
    removal, `depth_kpa` is its deepest, not a number when that is no vacuum.
    """

    begins: Whole
    begin_seconds: Floats
    pulse_count: Whole
    depth_kpa: Floats
    reasons: Codes

    def seconds(self, phase: Phase, until: Phase) -> Floats:
        """From where one phase begins to where another does; not a number unless both are found."""
        return self.begin_seconds[:, until] - self.begin_seconds[:, phase]


def find_phases(traces: Traces, low_celsius: Floats, ambient_kpa: Floats) -> Phases:
    """The phases of each cycle; `low_celsius` is the lower edge of its band.

    Without one the plateau is what lies within 1.5 K of the hottest. A cycle that never got so far
    has no phase beyond heat-up.
    """
    kpa, poor = _steady_pressure(traces)
    heat = celsius_reasons(traces, with_temperature(traces)[0])
    reasons = first_reason(traces.reasons(), heat, poor)
    begins = np.full((len(traces), len(Phase)), -1, dtype=np.int64)
    told = np.flatnonzero(reasons == Reason.NONE)
    pulses, depth = np.zeros(len(traces), dtype=np.int64), np.full(len(traces), np.nan)
    if len(told):
        hot_first, hot_last = _hot_span(traces, low_celsius)
        first, end = traces.offsets[:-1][told], traces.offsets[1:][told] - 1
        begins[told, Phase.FILL], begins[told, Phase.END] = first, end
        hot = hot_first[told]
        top, cool = hot.copy(), np.flatnonzero(hot < 0)
        top[cool] = _highest(kpa, first[cool], end[cool])
        foot = foot_of_rise(kpa, first, top)
        air = _leaves(kpa, first, foot)
        begins[told, Phase.AIR_REMOVAL], begins[told, Phase.HEAT_UP] = air, foot
        pulses[told], depth[told] = _air_removal(kpa, air, foot, kpa[first])
        held = told[hot >= 0]
        _plateau(traces, kpa, begins, held, hot_first[held], hot_last[held])
        _after(kpa, begins, held, ambient_kpa)
    begin_seconds = np.where(begins >= 0, _at(traces.elapsed_seconds, begins), np.nan)
    return Phases(begins, begin_seconds, pulses, depth, reasons)


def _steady_pressure(traces: Traces) -> tuple[Floats, Codes]:
    """Pressure with a lost value replaced by the one before; too many lost are a reason."""
    lost = traces.kpa_is_bad
    if lost is None:
        return traces.kpa, np.zeros(len(traces), dtype=np.uint8)
    lost_count = np.diff(np.searchsorted(np.flatnonzero(lost), traces.offsets))
    is_poor = lost_count > _MOST_LOST_SHARE * np.diff(traces.offsets)
    place = np.where(lost, 0, np.arange(len(lost)))
    is_poor |= np.append(lost, True)[traces.offsets[:-1]]
    filled = traces.kpa[np.maximum.accumulate(place)] if len(lost) else traces.kpa
    return filled, np.where(is_poor, Reason.KPA_DOUBTFUL, Reason.NONE).astype(np.uint8)


def _hot_span(traces: Traces, low_celsius: Floats) -> tuple[Whole, Whole]:
    """First and last sample of each cycle that is hot enough, dips between them or not."""
    celsius = traces.celsius
    if traces.celsius_is_bad is not None:
        celsius = np.where(traces.celsius_is_bad, -np.inf, celsius)
    low = low_celsius
    if np.isnan(low).any():
        hottest = segments.reduced(np.maximum, celsius, traces.offsets, np.nan)
        low = np.where(np.isnan(low), hottest - _BELOW_TOP_KELVIN, low)
    index, bounds = segments.at_least(celsius, traces.offsets, low)
    is_hot = bounds[1:] > bounds[:-1]
    index = np.append(index, -1)
    return (
        np.where(is_hot, index[bounds[:-1]], -1),
        np.where(is_hot, index[bounds[1:] - 1], -1),
    )


def _highest(kpa: Floats, first: Whole, end: Whole) -> Whole:
    index, offsets = segments.stretches(first, end + 1)
    highest = segments.reduced(np.maximum, kpa[index], offsets, np.nan)
    at = segments.first_where(kpa[index] == np.repeat(highest, np.diff(offsets)), offsets)
    return index[at]


def _leaves(kpa: Floats, first: Whole, foot: Whole) -> Whole:
    """The last sample before the foot at the room's pressure; -1 when it never leaves that."""
    # The middle of three, so that one noisy sample at the beginning does not look like a start.
    begin = [kpa[np.minimum(first + place, foot)] for place in range(3)]
    stirs = segments.first_that(_is_off, kpa, first, foot, np.median(begin, axis=0))
    return np.where(stirs >= 0, np.maximum(stirs - 1, first), -1)


def _is_off(kpa: Floats, room: Floats) -> Flags:
    return np.abs(kpa - room) > _STIR_KPA


def _air_removal(kpa: Floats, air: Whole, foot: Whole, room: Floats) -> tuple[Whole, Floats]:
    is_found = air >= 0
    index, offsets = segments.stretches(np.where(is_found, air, 0), np.where(is_found, foot + 1, 0))
    values = kpa[index]
    deepest = segments.reduced(np.minimum, values, offsets, np.nan)
    depth = np.where(room - deepest > _VACUUM_KPA, deepest, np.nan)
    return pulse_count(values, offsets), depth


def _plateau(
    traces: Traces, kpa: Floats, begins: Whole, held: Whole, hot: Whole, cold: Whole
) -> None:
    """Fill in equilibration, hold and exhaust of the cycles that were hot enough."""
    seconds = traces.elapsed_seconds
    begins[held, Phase.EQUILIBRATION] = hot
    third = (cold - hot) // 3
    level = segments.reduced_between(np.add, kpa, hot + third, cold - third)
    level /= cold - hot - 2 * third + 1
    knee = knee_seconds(seconds, kpa, begins[held, Phase.HEAT_UP], hot, level)
    nearest = knee - traces.step_seconds[held] / 2
    at = segments.first_that(np.greater_equal, seconds, hot, cold, nearest)
    begins[held, Phase.HOLD] = np.where(at >= 0, at, hot)
    tenth = (cold - hot) // 10
    lowest = segments.reduced_between(np.minimum, kpa, hot + tenth, cold - tenth)
    # The chamber is still hot enough for a moment when the pressure has begun to fall.
    at = segments.last_that(np.greater_equal, kpa, hot, cold, lowest)
    begins[held, Phase.EXHAUST] = np.where(cold < begins[held, Phase.END], at, -1)


def _after(kpa: Floats, begins: Whole, held: Whole, ambient_kpa: Floats) -> None:
    """Fill in drying and vent."""
    out = held[begins[held, Phase.EXHAUST] >= 0]
    room = ambient_kpa[out]
    first, end = begins[out, Phase.EXHAUST], begins[out, Phase.END]
    at = segments.first_below(kpa, first, end, room + _AT_ROOM_KPA)
    dry, room = out[at >= 0], room[at >= 0]
    begins[dry, Phase.DRYING] = at[at >= 0]
    end = begins[dry, Phase.END]
    deepest = segments.reduced_between(np.minimum, kpa, begins[dry, Phase.DRYING], end)
    has_left = kpa[end] > deepest + _LEAVES_SHARE * (room - deepest)
    was_dried = (room - deepest > _VACUUM_KPA) & has_left
    begins[dry[was_dried], Phase.VENT] = foot_of_rise(
        kpa, begins[dry[was_dried], Phase.DRYING], end[was_dried]
    )


def _at(values: Floats, index: Whole) -> Floats:
    """Values at these places; whatever stands there for a place outside, which the caller drops."""
    return values[np.clip(index, 0, len(values) - 1)] if len(values) else np.zeros(index.shape)
