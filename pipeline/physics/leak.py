"""The leak rate of a leak test: how fast the pressure rises in a chamber shut off under vacuum.

The first minutes are left out, because what evaporates and warms up then is no leak.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.physics import segments
from pipeline.physics.compiled import column, compiled
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole, first_reason
from pipeline.physics.samples import Columns, Trace, Traces, trace_at

LIMIT_KPA_PER_MINUTE = 0.13
"""1.3 mbar a minute. Reported of HTM 2010; EN 285 and EN 13060 from memory."""
SETTLE_SECONDS, WATCH_SECONDS = 300.0, 600.0
"""From memory of the same; five and ten minutes are reported of the medicines industry too."""
_VACUUM_SHARE = 0.5
_LEAST_COUNT = 4


@dataclass(frozen=True, slots=True, eq=False)
class Leak:
    """kPa a minute for each cycle, and what it was read from.

    `isolated` is the sample with which the chamber was shut off, -1 when there was none; `rise_kpa`
    is what the rate gives over the whole watch.
    """

    kpa_per_minute: Floats
    rise_kpa: Floats
    isolated: Whole
    deepest_kpa: Floats
    reasons: Codes


def find_leak(
    traces: Traces,
    is_leak_test: Flags,
    ambient_kpa: Floats,
    settle_seconds: float = SETTLE_SECONDS,
    watch_seconds: float = WATCH_SECONDS,
) -> Leak:
    """The rate in each leak test; no other cycle has one.

    The chamber counts as shut off at the last sample of the deepest pressure. The rate is the
    median slope between samples half the watch apart, which up to a quarter of wild samples cannot
    move. Told only when the whole watch was seen: it must have begun and ended within one usual
    step, without a gap or a lost pressure. Source of the slope: H. Theil, Proc. K. Ned. Akad. Wet.
    53 (1950), the incomplete method.
    """
    unasked = np.where(is_leak_test, Reason.NONE, Reason.NOT_FOUND).astype(np.uint8)
    reasons = first_reason(traces.reasons(), unasked)
    isolated, rates = _leaks(
        traces.columns, column(ambient_kpa), reasons, settle_seconds, watch_seconds
    )
    deepest, told = np.full(len(traces), np.nan), np.flatnonzero(isolated >= 0)
    deepest[told] = traces.kpa[isolated[told]]
    return Leak(rates, rates * watch_seconds / 60, isolated, deepest, reasons)


@compiled
def _leaks(
    columns: Columns,
    ambient_kpa: Floats,
    reasons: Codes,
    settle_seconds: float,
    watch_seconds: float,
) -> tuple[Whole, Floats]:
    """Sample of isolation and rate, where there is no reason; fills in why the others have none."""
    isolated, rates = np.full(len(reasons), -1), np.full(len(reasons), np.nan)
    for row in range(len(reasons)):
        if reasons[row] == Reason.NONE:
            shut, rates[row], reasons[row] = _leak_of(
                trace_at(columns, row), ambient_kpa[row], settle_seconds, watch_seconds
            )
            if reasons[row] == Reason.NONE:
                isolated[row] = columns.offsets[row] + shut
    return isolated, rates


@compiled
def _leak_of(
    trace: Trace, ambient_kpa: float, settle_seconds: float, watch_seconds: float
) -> tuple[int, float, int]:
    """Sample of isolation and rate of one test, and why there is none."""
    seconds, kpa, count = trace.seconds, trace.kpa, len(trace.kpa)
    shut = segments.last_below(kpa, segments.lowest(kpa))
    if shut < 0:
        return shut, np.nan, Reason.KPA_DOUBTFUL
    # Rounded instants must not cost the watch its last sample.
    slack = trace.step_seconds / 2
    first = shut
    while first < count and seconds[first] - seconds[shut] < settle_seconds - slack:
        first += 1
    end = first
    while end < count and seconds[end] - seconds[shut] <= settle_seconds + watch_seconds + slack:
        end += 1
    span = seconds[first:end]
    for at in range(first, end):
        if np.isnan(kpa[at]):
            return shut, np.nan, Reason.KPA_DOUBTFUL
    if kpa[shut] > _VACUUM_SHARE * ambient_kpa:
        return shut, np.nan, Reason.NOT_FOUND
    # A gap that begins with the last sample counts too.
    longest = segments.longest_step(seconds[first : end + 1])
    if len(span) < _LEAST_COUNT or longest > trace.most_seconds:
        return shut, np.nan, Reason.CUT
    if span[-1] - span[0] < watch_seconds - trace.step_seconds:
        return shut, np.nan, Reason.CUT
    return shut, 60 * _middle_slope(span, kpa[first:end]), Reason.NONE


@compiled
def _middle_slope(seconds: Floats, kpa: Floats) -> float:
    """Median slope, a second, between each sample and the one half a stretch later."""
    slopes = np.empty(len(kpa) // 2)
    for at in range(len(slopes)):
        later = at + len(kpa) - len(slopes)
        slopes[at] = (kpa[later] - kpa[at]) / (seconds[later] - seconds[at])
    return segments.middle(slopes)
