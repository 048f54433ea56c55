"""What it was that kept a cycle from its hold, and by how much."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from pipeline.physics import segments
from pipeline.physics.hold import Hold, find_hold
from pipeline.physics.reason import Codes, Floats, Whole
from pipeline.physics.samples import Traces, traces_of, with_temperature


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
    size = len(traces)
    causes, amounts = np.zeros(size, dtype=np.uint8), np.full(size, np.nan)
    short = np.flatnonzero(hold.sure_seconds < needed_seconds)
    if len(short):
        part = _only(traces, short)
        low, high, needed = low_celsius[short], high_celsius[short], needed_seconds[short]
        hottest = segments.reduced(np.maximum, part.celsius, part.offsets, np.nan)
        plateau = find_hold(part, low, np.full(len(short), np.inf))
        span, coldest = _between(part, low)
        missing = needed - hold.sure_seconds[short]
        is_possible = hold.possible_seconds[short] >= needed
        is_dip = (span >= needed) & (coldest < low)
        choices = [hottest < low, plateau.sure_seconds >= needed, is_dip, is_possible]
        causes[short] = np.select(
            choices,
            [
                Shortfall.NEVER_HOT_ENOUGH,
                Shortfall.TOO_HOT,
                Shortfall.TOO_COLD_BETWEEN,
                Shortfall.NOT_SHOWN,
            ],
            Shortfall.TOO_SHORT,
        )
        by = [low - hottest, plateau.max_celsius - high, low - coldest, missing]
        amounts[short] = np.select(choices, by, missing)
    return Shortfalls(causes, amounts)


def _only(traces: Traces, rows: Whole) -> Traces:
    index, offsets = segments.stretches(traces.offsets[rows], traces.offsets[rows + 1])
    columns = traces.elapsed_seconds[index], traces.celsius[index], traces.kpa[index]
    return with_temperature(traces_of(offsets, *columns))[0]


def _between(traces: Traces, low: Floats) -> tuple[Floats, Floats]:
    """Seconds from the first to the last sample hot enough, and the coldest between them."""
    is_hot = traces.celsius >= np.repeat(low, np.diff(traces.offsets))
    first = segments.first_where(is_hot, traces.offsets)
    last = segments.last_where(is_hot, traces.offsets)
    seconds = traces.elapsed_seconds
    span = np.where(first >= 0, seconds[last] - seconds[first], 0.0)
    begins, ends = np.maximum(first, 0), np.where(first >= 0, last + 1, 0)
    index, offsets = segments.stretches(begins, ends)
    return span, segments.reduced(np.minimum, traces.celsius[index], offsets, np.nan)
