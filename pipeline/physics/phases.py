"""Where the phases of a cycle begin, found in its pressure and temperature.

Air removal begins where the pressure leaves that of the room; heat-up at the foot of the last rise;
the hold where that rise, drawn on, meets the plateau; exhaust with the last sample of the plateau;
drying when the pressure is back at that of the room; vent when it leaves the last vacuum.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from pipeline.physics import segments
from pipeline.physics.compiled import column, compiled
from pipeline.physics.reason import Codes, Floats, Reason, Whole, first_reason
from pipeline.physics.rise import foot_of_rise, knee_seconds, pulse_count
from pipeline.physics.samples import Columns, Trace, Traces, trace_at

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


_COUNT = len(Phase)


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
    reasons = first_reason(traces.reasons(), traces.celsius_reasons, poor)
    columns = traces.columns._replace(kpa=column(kpa))
    limits = column(low_celsius), column(ambient_kpa)
    begins, begin_seconds, pulses, depth = _phases(columns, *limits, reasons)
    return Phases(begins, begin_seconds, pulses, depth, reasons)


def _steady_pressure(traces: Traces) -> tuple[Floats, Codes]:
    """Pressure with a lost value replaced by the one before; too many lost are a reason."""
    lost = np.isnan(traces.kpa)
    if not lost.any():
        return traces.kpa, np.zeros(len(traces), dtype=np.uint8)
    lost_count = np.diff(np.searchsorted(np.flatnonzero(lost), traces.offsets))
    is_poor = lost_count > _MOST_LOST_SHARE * np.diff(traces.offsets)
    is_poor |= np.append(lost, True)[traces.offsets[:-1]]
    filled = traces.kpa[np.maximum.accumulate(np.where(lost, 0, np.arange(len(lost))))]
    return filled, np.where(is_poor, Reason.KPA_DOUBTFUL, Reason.NONE).astype(np.uint8)


@compiled
def _phases(
    columns: Columns, low_celsius: Floats, ambient_kpa: Floats, reasons: Codes
) -> tuple[Whole, Floats, Whole, Floats]:
    """What `Phases` holds, of those cycles that have no reason."""
    size = len(reasons)
    begins, begin_seconds = np.full((size, _COUNT), -1), np.full((size, _COUNT), np.nan)
    pulses, depth = np.zeros(size, dtype=np.int64), np.full(size, np.nan)
    for row in range(size):
        if reasons[row] != Reason.NONE:
            continue
        trace, found, low = trace_at(columns, row), begins[row], low_celsius[row]
        if np.isnan(low):
            low = segments.highest(trace.celsius) - _BELOW_TOP_KELVIN
        pulses[row], depth[row] = _until_hot(trace, low, found)
        if found[Phase.EQUILIBRATION] >= 0:
            _plateau(trace, low, found)
        if found[Phase.EXHAUST] >= 0:
            _after(trace.kpa, ambient_kpa[row], found)
        for phase in range(_COUNT):
            if found[phase] >= 0:
                begin_seconds[row, phase] = trace.seconds[found[phase]]
                found[phase] += columns.offsets[row]
    return begins, begin_seconds, pulses, depth


@compiled
def _until_hot(trace: Trace, low: float, begins: Whole) -> tuple[int, float]:
    """Fill in what begins until it is hot; gives the pulses of air removal and how deep it went."""
    kpa = trace.kpa
    top = begins[Phase.EQUILIBRATION] = segments.first_above(trace.celsius, low)
    if top < 0:
        top = segments.first_above(kpa, segments.highest(kpa))
    foot = begins[Phase.HEAT_UP] = foot_of_rise(kpa[: top + 1])
    air = begins[Phase.AIR_REMOVAL] = _leaves(kpa[: foot + 1])
    begins[Phase.FILL], begins[Phase.END] = 0, len(kpa) - 1
    if air < 0:
        return 0, np.nan
    removal = kpa[air : foot + 1]
    deepest = segments.lowest(removal)
    return pulse_count(removal), deepest if kpa[0] - deepest > _VACUUM_KPA else np.nan


@compiled
def _leaves(kpa: Floats) -> int:
    """The last sample at the room's pressure; -1 when it never leaves that."""
    # The middle of three, so that one noisy sample at the beginning does not look like a start.
    last = len(kpa) - 1
    room = segments.middle(np.array([kpa[0], kpa[min(1, last)], kpa[min(2, last)]]))
    for at in range(len(kpa)):
        if abs(kpa[at] - room) > _STIR_KPA:
            return max(at - 1, 0)
    return -1


@compiled
def _plateau(trace: Trace, low: float, begins: Whole) -> None:
    """Fill in hold and exhaust."""
    kpa, foot, hot = trace.kpa, begins[Phase.HEAT_UP], begins[Phase.EQUILIBRATION]
    cold = segments.last_above(trace.celsius, low)
    third, tenth = (cold - hot) // 3, (cold - hot) // 10
    level = float(np.mean(kpa[hot + third : cold - third + 1]))
    knee = knee_seconds(trace.seconds[foot:], kpa[foot:], hot - foot, level)
    half_a_step_before = knee - trace.step_seconds / 2
    nearest = segments.first_above(trace.seconds[hot : cold + 1], half_a_step_before)
    begins[Phase.HOLD] = hot + max(nearest, 0)
    if cold < begins[Phase.END]:
        # The chamber is still hot enough for a moment when the pressure has begun to fall.
        lowest = segments.lowest(kpa[hot + tenth : cold - tenth + 1])
        begins[Phase.EXHAUST] = segments.last_above(kpa[: cold + 1], lowest)


@compiled
def _after(kpa: Floats, room: float, begins: Whole) -> None:
    """Fill in drying and vent."""
    exhaust = begins[Phase.EXHAUST]
    after = segments.first_below(kpa[exhaust:], room + _AT_ROOM_KPA)
    if after < 0:
        return
    dry = begins[Phase.DRYING] = exhaust + after
    deepest = segments.lowest(kpa[dry:])
    has_left = kpa[-1] > deepest + _LEAVES_SHARE * (room - deepest)
    if has_left and room - deepest > _VACUUM_KPA:
        begins[Phase.VENT] = dry + foot_of_rise(kpa[dry:])
