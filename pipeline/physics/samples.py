"""The samples of many cycles in three long columns, and what is wrong with them.

Nothing is mended: what cannot be believed is marked, and whoever reads it says "cannot tell". One
lost sample is borne, because the step across it is no gap yet.
"""

from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from pipeline.physics.compiled import column, compiled, whole_column
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole
from pipeline.physics.steps import GAP_FACTOR, steps_of

LOWEST_CELSIUS, HIGHEST_CELSIUS = -30.0, 160.0
"""Colder than any clinic, hotter than any program; 250 °F must lie outside. Common practice."""
LOWEST_KPA, HIGHEST_KPA = 0.3, 600.0
"""Absolute; no pump of a clinic goes deeper and no chamber higher. Common practice, no source."""
_LARGEST = float(np.finfo(np.float64).max)
_MOST_IMPOSSIBLE_SHARE = 0.05
"""With more impossible temperatures than this the possible ones are not believed either."""
_LOWEST_FAHRENHEIT, _HIGHEST_FAHRENHEIT = 230.0, 300.0
"""110 to 149 °C: no temperature of a chamber, but the hottest of a cycle that logs °F."""


@dataclass(frozen=True, slots=True, eq=False)
class Traces:
    """Samples in the order in which they were logged, cycle after cycle; made by `traces_of`.

    Cycle i has the samples offsets[i] up to, and without, offsets[i + 1]; it may have none. `kpa`
    is absolute. What is missing or impossible is not a number. Marks a cycle: an instant is
    unknown, goes back, or stands twice with different values; samples are missing where it is hot,
    or anywhere when it never is; why its temperatures cannot be used. `step_seconds` is the usual
    step of a cycle, not a number below two samples and where time is doubtful. `believed` are only
    the samples with a temperature, None when all have one.
    """

    offsets: Whole
    elapsed_seconds: Floats
    celsius: Floats
    kpa: Floats
    step_seconds: Floats
    is_time_doubtful: Flags
    has_gap: Flags
    celsius_reasons: Codes
    believed: "Believed | None" = None

    def __len__(self) -> int:
        return len(self.offsets) - 1

    @property
    def columns(self) -> "Columns":
        """What compiled functions need of them."""
        return Columns(
            self.offsets, self.elapsed_seconds, self.celsius, self.kpa, self.step_seconds
        )

    def reasons(self) -> Codes:
        """Why nothing that needs a length of time can be told of a cycle."""
        counts = np.diff(self.offsets)
        out = np.where(self.is_time_doubtful, Reason.TIME_DOUBTFUL, Reason.NONE)
        out = np.where(counts == 1, Reason.ONE_SAMPLE, out)
        return np.where(counts == 0, Reason.NO_SAMPLES, out).astype(np.uint8)


@dataclass(frozen=True, slots=True, eq=False)
class Believed:
    """Some samples of other traces, and the index that each has there."""

    traces: Traces
    index: Whole


class Columns(NamedTuple):
    """Samples of many cycles, as `Traces` has them."""

    offsets: Whole
    seconds: Floats
    celsius: Floats
    kpa: Floats
    step_seconds: Floats


class Trace(NamedTuple):
    """The samples of one cycle, its usual step, and the longest that is no gap."""

    seconds: Floats
    celsius: Floats
    kpa: Floats
    step_seconds: float
    most_seconds: float


@compiled
def trace_at(columns: Columns, row: int) -> Trace:
    """The samples of one of many cycles."""
    begin, end, step = columns.offsets[row], columns.offsets[row + 1], columns.step_seconds[row]
    return Trace(
        columns.seconds[begin:end],
        columns.celsius[begin:end],
        columns.kpa[begin:end],
        step,
        GAP_FACTOR * step,
    )


def traces_of(
    offsets: ArrayLike,
    elapsed_seconds: ArrayLike,
    celsius: ArrayLike,
    kpa: ArrayLike | None = None,
) -> Traces:
    """Samples of cycles in the order logged, with their marks; no `kpa` when none was logged.

    A sample that says exactly what the one before says counts once. ValueError when the columns
    are not of one length, or the offsets do not go from 0 up to it.
    """
    at, seconds, hot = whole_column(offsets), column(elapsed_seconds), column(celsius)
    size = len(seconds)
    pressure = _unknown(size) if kpa is None else column(kpa)
    if len(hot) != size or len(pressure) != size:
        raise ValueError(f"{size} instants, {len(hot)} temperatures, {len(pressure)} pressures")
    if not len(at) or at[0] != 0 or at[-1] != size or np.any(at[1:] < at[:-1]):
        raise ValueError(f"offsets must rise from 0 to {size}, the number of samples")
    possible = _possible(hot, LOWEST_CELSIUS, HIGHEST_CELSIUS)
    possible_kpa = pressure if kpa is None else _possible(pressure, LOWEST_KPA, HIGHEST_KPA)
    traces = _marked(at, seconds, possible, possible_kpa)
    if traces.is_time_doubtful.any():
        is_again = _is_again(at, seconds, hot, pressure)
        if is_again.any():
            keep = np.flatnonzero(~is_again)
            return traces_of(np.searchsorted(keep, at), seconds[keep], hot[keep], pressure[keep])
    if possible is hot:
        return traces
    keep = np.flatnonzero(~np.isnan(possible))
    columns = traces.elapsed_seconds, traces.celsius, traces.kpa
    kept = _marked(np.searchsorted(keep, at), *(one[keep] for one in columns))
    # Leaving a sample out must not hide that its instant was doubtful.
    kept.is_time_doubtful[traces.is_time_doubtful] = True
    reasons = _celsius_reasons(at, hot, possible)
    return replace(traces, believed=Believed(kept, keep), celsius_reasons=reasons)


def with_temperature(traces: Traces) -> tuple[Traces, Whole | None]:
    """Only the samples whose temperature can be believed, and the index that each had before.

    None when all can. A cycle may lose all its samples.
    """
    if traces.believed is None:
        return traces, None
    return traces.believed.traces, traces.believed.index


def _unknown(size: int) -> Floats:
    """So many that are not a number, kept: pages of memory that are new take their time."""
    return _unknown_of_length(1 << size.bit_length())[:size]


@cache
def _unknown_of_length(size: int) -> Floats:
    return column(np.full(size, np.nan))


def _marked(offsets: Whole, seconds: Floats, celsius: Floats, kpa: Floats) -> Traces:
    at, since, hot = whole_column(offsets), column(seconds), column(celsius)
    usual, has_gap = steps_of(at, since, hot)
    counts, is_unknown = np.diff(at), np.isnan(usual)
    # A cycle has a usual step only when all of its instants are possible.
    if is_unknown.any():
        since = _possible(since, -_LARGEST, _LARGEST)
    few = np.where(counts < 2, Reason.CELSIUS_DOUBTFUL, Reason.NONE).astype(np.uint8)
    return Traces(at, since, hot, column(kpa), usual, is_unknown & (counts >= 2), has_gap, few)


def _possible(values: Floats, low: float, high: float) -> Floats:
    """The values of a range, and not a number for the others; the same array when all are in it."""
    if _are_within(values, low, high):
        return values
    return column(np.where((values >= low) & (values <= high), values, np.nan))


@compiled
def _are_within(values: Floats, low: float, high: float) -> bool:
    count = 0
    for at in range(len(values)):
        count += (values[at] >= low) & (values[at] <= high)
    return count == len(values)


@compiled
def _celsius_reasons(offsets: Whole, logged: Floats, celsius: Floats) -> Codes:
    """Why the temperatures of a cycle cannot be used; `celsius` is what is possible of the logged.

    A few impossible values are lost samples. Many mean that all are of another kind: half of a
    trace in °F looks possible, and would put the hold where it is still cold.
    """
    out = np.zeros(len(offsets) - 1, dtype=np.uint8)
    for row in range(len(out)):
        possible_count, impossible_count, hottest = 0, 0, -np.inf
        for at in range(offsets[row], offsets[row + 1]):
            if not np.isnan(celsius[at]):
                possible_count += 1
            elif np.isfinite(logged[at]):
                impossible_count += 1
                hottest = max(hottest, logged[at])
        most = _MOST_IMPOSSIBLE_SHARE * (offsets[row + 1] - offsets[row])
        if impossible_count > most and _LOWEST_FAHRENHEIT <= hottest <= _HIGHEST_FAHRENHEIT:
            out[row] = Reason.UNIT_SLIP
        elif impossible_count > most or possible_count < 2:
            out[row] = Reason.CELSIUS_DOUBTFUL
    return out


def _is_again(offsets: Whole, seconds: Floats, celsius: Floats, kpa: Floats) -> Flags:
    """True for a sample that repeats the one before, instant and all."""
    out = np.zeros(len(seconds), dtype=np.bool_)
    out[1:] = (seconds[1:] == seconds[:-1]) & _same(celsius) & _same(kpa)
    out[offsets[:-1][offsets[:-1] < len(out)]] = False
    return out


def _same(values: Floats) -> Flags:
    now, before = values[1:], values[:-1]
    return (now == before) | (np.isnan(now) & np.isnan(before))
