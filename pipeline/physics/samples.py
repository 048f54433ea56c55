"""The samples of many cycles in three long columns, and what is wrong with them.

Nothing is mended: what cannot be believed is marked, and whoever reads it says "cannot tell". One
lost sample is borne, because the step across it is no gap yet.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from pipeline.physics import segments
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole
from pipeline.physics.steps import steps_of

LOWEST_CELSIUS, HIGHEST_CELSIUS = -30.0, 160.0
"""Colder than any clinic, hotter than any program; 250 °F must lie outside. Common practice."""
LOWEST_KPA, HIGHEST_KPA = 0.3, 600.0
"""Absolute; no pump of a clinic goes deeper and no chamber higher. Common practice, no source."""
_MOST_IMPOSSIBLE_SHARE = 0.05
"""With more impossible temperatures than this the possible ones are not believed either."""
_LOWEST_FAHRENHEIT, _HIGHEST_FAHRENHEIT = 230.0, 300.0
"""110 to 149 °C: no temperature of a chamber, but the hottest of a cycle that logs °F."""


@dataclass(frozen=True, slots=True, eq=False)
class Traces:
    """Samples in the order in which they were logged, cycle after cycle; made by `traces_of`.

    Cycle i has the samples offsets[i] up to, and without, offsets[i + 1]; it may have none. `kpa`
    is absolute. Marks a sample, or None where no sample has it: the temperature, or the pressure,
    is missing or impossible. `gaps` are the samples to whose next one the step is a gap. Marks a
    cycle: an instant is unknown, goes back, or stands twice with different values; samples are
    missing where it is hot, or anywhere when it never is; all its steps are the very same.
    `step_seconds` is the usual step of a cycle, not a number below two samples. `believed` are only
    the samples whose temperature is none of those, None when it is all.
    """

    offsets: Whole
    elapsed_seconds: Floats
    celsius: Floats
    kpa: Floats
    celsius_is_bad: Flags | None
    kpa_is_bad: Flags | None
    gaps: Whole
    is_time_doubtful: Flags
    has_gap: Flags
    step_seconds: Floats
    is_even: Flags
    believed: "Believed | None" = None

    def __len__(self) -> int:
        return len(self.offsets) - 1

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
    at = np.ascontiguousarray(offsets, dtype=np.int64)
    seconds, _ = _column(elapsed_seconds, -np.inf, np.inf)
    hot, hot_is_bad = _column(celsius, LOWEST_CELSIUS, HIGHEST_CELSIUS)
    size = len(seconds)
    pressure: Floats = np.broadcast_to(np.nan, size)
    pressure_is_bad: Flags | None = np.broadcast_to(np.True_, size)
    if kpa is not None:
        pressure, pressure_is_bad = _column(kpa, LOWEST_KPA, HIGHEST_KPA)
    if len(hot) != size or len(pressure) != size:
        raise ValueError(f"{size} instants, {len(hot)} temperatures, {len(pressure)} pressures")
    if not len(at) or at[0] != 0 or at[-1] != size or np.any(at[1:] < at[:-1]):
        raise ValueError(f"offsets must rise from 0 to {size}, the number of samples")
    traces = _marked(at, seconds, hot, pressure, hot_is_bad, pressure_is_bad)
    if traces.is_time_doubtful.any():
        traces = _only(traces, np.flatnonzero(~_is_again(np.diff(seconds), at, hot, pressure)))
    if traces.celsius_is_bad is None:
        return traces
    keep = np.flatnonzero(~traces.celsius_is_bad)
    kept = _only(traces, keep)
    # Leaving a sample out must not hide that its instant was doubtful.
    kept.is_time_doubtful[traces.is_time_doubtful] = True
    return replace(traces, believed=Believed(kept, keep))


def with_temperature(traces: Traces) -> tuple[Traces, Whole | None]:
    """Only the samples whose temperature can be believed, and the index that each had before.

    None when all can. A cycle may lose all its samples.
    """
    if traces.believed is None:
        return traces, None
    return traces.believed.traces, traces.believed.index


def _only(traces: Traces, keep: Whole) -> Traces:
    """These samples alone, marked anew."""
    return _marked(
        np.searchsorted(keep, traces.offsets),
        traces.elapsed_seconds[keep],
        traces.celsius[keep],
        traces.kpa[keep],
        _any_of(traces.celsius_is_bad, keep),
        _any_of(traces.kpa_is_bad, keep),
    )


def _any_of(marks: Flags | None, keep: Whole) -> Flags | None:
    return None if marks is None or not marks[keep].any() else marks[keep]


def _marked(
    at: Whole,
    seconds: Floats,
    celsius: Floats,
    kpa: Floats,
    celsius_is_bad: Flags | None,
    kpa_is_bad: Flags | None,
) -> Traces:
    steps = steps_of(at, seconds, celsius)
    return Traces(
        at,
        seconds,
        celsius,
        kpa,
        celsius_is_bad,
        kpa_is_bad,
        steps.gaps,
        steps.is_doubtful,
        steps.has_gap,
        steps.usual_seconds,
        steps.is_even,
    )


def celsius_reasons(traces: Traces, believed: Traces) -> Codes:
    """Why the temperatures of a cycle cannot be used; `believed` is what is left of it.

    A few impossible values are lost samples. Many mean that all are of another kind: half of a
    trace in °F looks possible, and would put the hold where it is still cold.
    """
    out = np.where(np.diff(believed.offsets) < 2, Reason.CELSIUS_DOUBTFUL, Reason.NONE)
    if traces.celsius_is_bad is not None:
        impossible = np.flatnonzero(traces.celsius_is_bad & ~np.isnan(traces.celsius))
        bounds = np.searchsorted(impossible, traces.offsets)
        is_much = np.diff(bounds) > _MOST_IMPOSSIBLE_SHARE * np.diff(traces.offsets)
        hottest = segments.reduced(np.maximum, traces.celsius[impossible], bounds, np.nan)
        is_other = (hottest >= _LOWEST_FAHRENHEIT) & (hottest <= _HIGHEST_FAHRENHEIT)
        out = np.where(is_much, Reason.CELSIUS_DOUBTFUL, out)
        out = np.where(is_much & is_other, Reason.UNIT_SLIP, out)
    return out.astype(np.uint8)


def _column(values: ArrayLike, low: float, high: float) -> tuple[Floats, Flags | None]:
    """The values, and which of them lie outside a range; None when none does."""
    out = np.ascontiguousarray(values, dtype=np.float64)
    # The extremes are not a number as soon as one value is, and then a comparison is false.
    if not len(out) or (low <= out.min() > -np.inf and high >= out.max() < np.inf):
        return out, None
    # What is infinite is as unknown as what is missing, and would warn in every difference.
    out = np.where(np.isinf(out), np.nan, out)
    return out, ~((out >= low) & (out <= high))


def _is_again(steps: Floats, at: Whole, celsius: Floats, kpa: Floats) -> Flags:
    """True for a sample that repeats the one before, instant and all."""
    out = np.zeros(len(celsius), dtype=bool)
    out[1:] = (steps == 0) & _same(celsius) & _same(kpa)
    out[at[:-1][at[:-1] < len(out)]] = False
    return out


def _same(values: Floats) -> Flags:
    now, before = values[1:], values[:-1]
    return (now == before) | (np.isnan(now) & np.isnan(before))
