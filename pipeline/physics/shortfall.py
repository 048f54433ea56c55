"""What it was that kept a cycle from its hold, and by how much."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from pipeline.physics import segments
from pipeline.physics.compiled import column, compiled
from pipeline.physics.hold import Hold, hold_of
from pipeline.physics.reason import Codes, Floats
from pipeline.physics.samples import Columns, Trace, Traces, trace_at, with_temperature


class Shortfall(IntEnum):
    """The nearest cause; its word is the name in small letters."""

    NONE = 0
    NEVER_HOT_ENOUGH = 1
    """Kelvin by which the hottest sample missed the band."""
    TOO_COLD_BETWEEN = 2
    """Kelvin by which it fell out of the band, in a plateau that was else long enough."""
    TOO_HOT = 3
    """Kelvin above the band, in a plateau that was else long enough."""
    TOO_SHORT = 4
    """Seconds that are missing, even if every doubt is given to the cycle."""
    NOT_SHOWN = 5
    """Seconds that are missing for sure; between two samples it may have been long enough."""


@dataclass(frozen=True, slots=True, eq=False)
class Shortfalls:
    """The cause a cycle, and by how much in kelvin or seconds; not a number for none."""

    causes: Codes
    amounts: Floats


def find_shortfalls(
    traces: Traces, hold: Hold, low_celsius: Floats, high_celsius: Floats, needed_seconds: Floats
) -> Shortfalls:
    """The cause for each cycle whose sure hold is shorter than needed; those not told have none."""
    believed, _ = with_temperature(traces)
    limits = column(low_celsius), column(high_celsius), column(needed_seconds)
    return Shortfalls(
        *_shortfalls(believed.columns, *limits, hold.sure_seconds, hold.possible_seconds)
    )


@compiled
def _shortfalls(
    columns: Columns,
    low: Floats,
    high: Floats,
    needed_seconds: Floats,
    sure_seconds: Floats,
    possible_seconds: Floats,
) -> tuple[Codes, Floats]:
    size = len(sure_seconds)
    causes, amounts = np.zeros(size, dtype=np.uint8), np.full(size, np.nan)
    for row in range(size):
        needed = needed_seconds[row]
        if sure_seconds[row] < needed:
            trace = trace_at(columns, row)
            causes[row], amounts[row] = _of_temperature(trace, low[row], high[row], needed)
            if causes[row] == Shortfall.NONE:
                is_possible = possible_seconds[row] >= needed
                causes[row] = Shortfall.NOT_SHOWN if is_possible else Shortfall.TOO_SHORT
                amounts[row] = needed - sure_seconds[row]
    return causes, amounts


@compiled
def _of_temperature(
    trace: Trace, low: float, high: float, needed_seconds: float
) -> tuple[int, float]:
    """What was wrong with the temperature, if anything was, and by how much."""
    seconds, celsius = trace.seconds, trace.celsius
    hottest = segments.highest(celsius)
    if hottest < low:
        return Shortfall.NEVER_HOT_ENOUGH, low - hottest
    first, last, plateau, _, _ = hold_of(trace, low, np.inf)
    if plateau >= needed_seconds:
        return Shortfall.TOO_HOT, segments.highest(celsius[first : last + 1]) - high
    begin, end = segments.first_above(celsius, low), segments.last_above(celsius, low)
    coldest = segments.lowest(celsius[begin : end + 1])
    if seconds[end] - seconds[begin] >= needed_seconds and coldest < low:
        return Shortfall.TOO_COLD_BETWEEN, low - coldest
    return Shortfall.NONE, np.nan
