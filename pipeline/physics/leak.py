"""The leak rate of a leak test: how fast the pressure rises in a chamber shut off under vacuum.

The first minutes are left out, because what evaporates and warms up then is no leak.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.physics import segments
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole, first_reason
from pipeline.physics.samples import Traces

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
    seconds, kpa = traces.elapsed_seconds, traces.kpa
    unasked = np.where(is_leak_test, Reason.NONE, Reason.NOT_FOUND).astype(np.uint8)
    reasons = first_reason(traces.reasons(), unasked)
    rates, depths = np.full(len(traces), np.nan), np.full(len(traces), np.nan)
    starts = np.full(len(traces), -1, dtype=np.int64)
    tests = np.flatnonzero(reasons == Reason.NONE)
    if not len(tests):
        return Leak(rates, rates.copy(), starts, depths, reasons)
    index, offsets = segments.stretches(traces.offsets[tests], traces.offsets[tests + 1])
    known = kpa[index]
    if traces.kpa_is_bad is not None:
        known = np.where(traces.kpa_is_bad[index], np.inf, known)
    deepest = segments.reduced(np.minimum, known, offsets, np.inf)
    at = segments.last_where(known == np.repeat(deepest, np.diff(offsets)), offsets)
    isolated = index[at]
    since = seconds[index] - np.repeat(seconds[isolated], np.diff(offsets))
    # Rounded instants must not cost the watch its last sample.
    slack = traces.step_seconds[tests] / 2
    is_watched = (since >= settle_seconds - np.repeat(slack, np.diff(offsets))) & (
        since <= settle_seconds + watch_seconds + np.repeat(slack, np.diff(offsets))
    )
    watch, bounds = index[is_watched], np.searchsorted(np.flatnonzero(is_watched), offsets)
    is_whole = _is_whole(seconds, watch, bounds, traces.step_seconds[tests], watch_seconds)
    is_lost = _counts(~np.isfinite(known[is_watched]), bounds) > 0
    is_whole &= _counts(np.isin(watch, traces.gaps), bounds) == 0
    slope = 60 * _middle_slope(seconds[watch], kpa[watch], bounds)
    reason = np.where(is_whole, Reason.NONE, Reason.CUT)
    reason = np.where(deepest > _VACUUM_SHARE * ambient_kpa[tests], Reason.NOT_FOUND, reason)
    reason = np.where(is_lost | ~np.isfinite(deepest), Reason.KPA_DOUBTFUL, reason)
    reasons[tests] = reason
    told = tests[reason == Reason.NONE]
    rates[told], depths[told] = slope[reason == Reason.NONE], deepest[reason == Reason.NONE]
    starts[told] = isolated[reason == Reason.NONE]
    return Leak(rates, rates * watch_seconds / 60, starts, depths, reasons)


def _counts(is_so: Flags, offsets: Whole) -> Whole:
    return np.diff(np.searchsorted(np.flatnonzero(is_so), offsets))


def _is_whole(
    seconds: Floats, watch: Whole, bounds: Whole, step: Floats, watch_seconds: float
) -> Flags:
    """True where the samples of the watch span it but for a step at most."""
    counts = np.diff(bounds)
    out = counts >= _LEAST_COUNT
    full = np.flatnonzero(out)
    span = seconds[watch[bounds[full + 1] - 1]] - seconds[watch[bounds[full]]]
    out[full] = span >= watch_seconds - step[full]
    return out


def _middle_slope(seconds: Floats, kpa: Floats, bounds: Whole) -> Floats:
    """Median slope, a second, between each sample and the one half a stretch later."""
    half = np.diff(bounds) // 2
    early, offsets = segments.stretches(bounds[:-1], bounds[:-1] + half)
    late = early + np.repeat(np.diff(bounds) - half, np.diff(offsets))
    with np.errstate(invalid="ignore"):
        return segments.medians(
            (kpa[late] - kpa[early]) / (seconds[late] - seconds[early]), offsets
        )
