"""How long a cycle was surely in its band, and how long it possibly was.

With n samples in the band every dt, the truth lies between (n - 1) dt and (n + 1) dt; only the
first counts as shown. What no sample tells is kept apart, so that lost samples neither make a hold
longer nor prove it short.
"""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from pipeline.physics import segments
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole, first_reason
from pipeline.physics.samples import Traces, celsius_reasons, with_temperature

_Number = TypeVar("_Number", np.float64, np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Hold:
    """The longest run of samples in the band of each cycle.

    `first` and `last` are indices of samples, both in the hold; -1 without one. `sure_seconds` is 0
    when no sample was in the band, and not a number where nothing can be told. `unseen_seconds` is
    how long it may have been where a gap hides it, infinite when the trace begins or ends in the
    band, and 0 when every step was seen. Temperatures are those of the run.
    """

    first: Whole
    last: Whole
    sure_seconds: Floats
    possible_seconds: Floats
    unseen_seconds: Floats
    min_celsius: Floats
    max_celsius: Floats
    reasons: Codes

    @property
    def spread_kelvin(self) -> Floats:
        """Between the highest and the lowest sample of the hold."""
        return self.max_celsius - self.min_celsius


@dataclass(frozen=True, slots=True, eq=False)
class _Band:
    """The samples in the band: index of the sample, its temperature, and where each cycle begins.

    `follows` says of each but the last whether the next sample of its cycle is in the band too.
    """

    index: Whole
    celsius: Floats
    offsets: Whole
    follows: Flags


def find_hold(traces: Traces, low_celsius: Floats, high_celsius: Floats) -> Hold:
    """The hold of each cycle in its own band, with both edges in it; of equal runs the first.

    A band that is not a number gives no answer for that cycle.
    """
    believed, kept = with_temperature(traces)
    band = _in_band(believed, low_celsius, high_celsius)
    possible, unseen = _possible(believed, band)
    size = len(traces)
    begins, ends, rows = _runs(band, _but_for_gaps(band, believed.gaps))
    first, last = band.index[begins], band.index[ends]
    seconds = believed.elapsed_seconds[last] - believed.elapsed_seconds[first]
    offsets = np.searchsorted(rows, np.arange(size + 1))
    longest = segments.reduced(np.maximum, seconds, offsets, 0.0)
    chosen = segments.first_where(seconds == longest[rows], offsets)
    reasons = _reasons(traces, believed, low_celsius, high_celsius)
    is_told, has_run = reasons == Reason.NONE, chosen >= 0
    lowest = np.minimum.reduceat(band.celsius, begins) if len(begins) else seconds
    highest = np.maximum.reduceat(band.celsius, begins) if len(begins) else seconds
    if kept is not None:
        first, last = kept[first], kept[last]
    return Hold(
        _chosen(first, chosen, is_told & has_run, -1),
        _chosen(last, chosen, is_told & has_run, -1),
        np.where(is_told, longest, np.nan),
        np.where(is_told, possible, np.nan),
        np.where(is_told, unseen, np.nan),
        _chosen(lowest, chosen, is_told & has_run, np.nan),
        _chosen(highest, chosen, is_told & has_run, np.nan),
        reasons,
    )


def _in_band(traces: Traces, low: Floats, high: Floats) -> _Band:
    index, offsets = segments.at_least(traces.celsius, traces.offsets, low)
    celsius = traces.celsius[index]
    is_in = celsius <= np.repeat(high, np.diff(offsets))
    if not is_in.all():
        index, celsius = index[is_in], celsius[is_in]
        offsets = np.searchsorted(index, traces.offsets)
    follows = np.diff(index) == 1
    between = offsets[1:-1]
    follows[between[(between > 0) & (between < len(index))] - 1] = False
    return _Band(index, celsius, offsets, follows)


def _but_for_gaps(band: _Band, gaps: Whole) -> Flags:
    """Whether the next sample follows, and no gap lies between."""
    out = band.follows.copy()
    at = np.searchsorted(band.index[: len(out)], gaps)
    is_at = at < len(out)
    is_at[is_at] = band.index[at[is_at]] == gaps[is_at]
    out[at[is_at]] = False
    return out


def _runs(band: _Band, follows: Flags) -> tuple[Whole, Whole, Whole]:
    """Where in the band's samples each run begins and ends, both within, and its cycle."""
    if not len(band.index):
        return band.index, band.index, band.index
    breaks = np.flatnonzero(~follows)
    begins = np.concatenate([[0], breaks + 1])
    ends = np.concatenate([breaks, [len(band.index) - 1]])
    return begins, ends, np.searchsorted(band.offsets, begins, side="right") - 1


def _possible(traces: Traces, band: _Band) -> tuple[Floats, Floats]:
    """The longest stretch a cycle between two samples outside the band; and what a gap may hide."""
    begins, ends, rows = _runs(band, band.follows)
    first, last = band.index[begins], band.index[ends]
    seconds, step = traces.elapsed_seconds, traces.step_seconds[rows]
    is_start = first == traces.offsets[rows]
    is_end = last == traces.offsets[rows + 1] - 1
    before = np.where(is_start, seconds[first] - step, seconds[first - 1])
    after = np.where(is_end, seconds[last] + step, seconds[np.minimum(last + 1, len(seconds) - 1)])
    possible = after - before
    is_cut, gaps = is_start | is_end, traces.gaps
    is_beside_gap = np.searchsorted(gaps, last, side="right") > np.searchsorted(gaps, first - 1)
    unseen = np.where(is_cut, np.inf, np.where(is_beside_gap, possible, 0.0))
    lengths = seconds[gaps + 1] - seconds[gaps]
    hidden = segments.reduced(np.maximum, lengths, np.searchsorted(gaps, traces.offsets), 0.0)
    offsets = np.searchsorted(rows, np.arange(len(traces) + 1))
    return (
        segments.reduced(np.maximum, possible, offsets, 0.0),
        np.maximum(
            segments.reduced(np.maximum, unseen, offsets, 0.0),
            np.where(traces.has_gap, hidden, 0.0),
        ),
    )


def _reasons(traces: Traces, believed: Traces, low: Floats, high: Floats) -> Codes:
    unsaid = np.where(np.isnan(low) | np.isnan(high), Reason.NO_LIMIT, Reason.NONE)
    lost = celsius_reasons(traces, believed)
    return first_reason(traces.reasons(), lost, unsaid.astype(np.uint8))


def _chosen(
    values: NDArray[_Number], chosen: Whole, is_known: Flags, other: float
) -> NDArray[_Number]:
    out: NDArray[_Number] = np.full(len(chosen), other, dtype=values.dtype)
    out[is_known] = values[chosen[is_known]]
    return out
