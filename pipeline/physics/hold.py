"""How long a cycle was surely in its band, and how long it possibly was.

With n samples in the band every dt, the truth lies between (n - 1) dt and (n + 1) dt; only the
first counts as shown. What no sample tells is kept apart, so that lost samples neither make a hold
longer nor prove it short.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.physics import segments
from pipeline.physics.compiled import column, compiled
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole, first_reason
from pipeline.physics.samples import Columns, Trace, Traces, trace_at, with_temperature


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


def find_hold(traces: Traces, low_celsius: Floats, high_celsius: Floats) -> Hold:
    """The hold of each cycle in its own band, with both edges in it; of equal runs the first.

    A band that is not a number gives no answer for that cycle.
    """
    believed, kept = with_temperature(traces)
    unsaid = np.isnan(low_celsius) | np.isnan(high_celsius)
    no_limit = np.where(unsaid, Reason.NO_LIMIT, Reason.NONE).astype(np.uint8)
    reasons = first_reason(traces.reasons(), traces.celsius_reasons, no_limit)
    limits = column(low_celsius), column(high_celsius)
    places, figures = _holds(believed.columns, *limits, believed.has_gap, reasons)
    if kept is not None:
        places = np.where(places < 0, -1, np.append(kept, -1)[places])
    first, last = places
    sure, possible, unseen, lowest, highest = figures
    return Hold(first, last, sure, possible, unseen, lowest, highest, reasons)


@compiled
def _holds(
    columns: Columns, low: Floats, high: Floats, has_gap: Flags, reasons: Codes
) -> tuple[Whole, Floats]:
    """A row a figure, in the order of `Hold`, of those cycles that have no reason."""
    size = len(reasons)
    places, figures = np.full((2, size), -1), np.full((5, size), np.nan)
    for row in range(size):
        if reasons[row] == Reason.NONE:
            trace = trace_at(columns, row)
            first, last, sure, possible, unseen = hold_of(trace, low[row], high[row])
            if has_gap[row]:
                unseen = max(unseen, segments.longest_step(trace.seconds))
            figures[0, row], figures[1, row], figures[2, row] = sure, possible, unseen
            if first >= 0:
                held = trace.celsius[first : last + 1]
                figures[3, row], figures[4, row] = segments.lowest(held), segments.highest(held)
                places[0, row] = columns.offsets[row] + first
                places[1, row] = columns.offsets[row] + last
    return places, figures


@compiled
def hold_of(trace: Trace, low: float, high: float) -> tuple[int, int, float, float, float]:
    """First and last sample of the hold in one trace, -1 without one, and its seconds.

    These are what is sure, what is possible, and what a gap or an end of the trace may hide.
    """
    seconds, celsius, count = trace.seconds, trace.celsius, len(trace.seconds)
    first, last, sure, possible, unseen = -1, -1, 0.0, 0.0, 0.0
    end, until = segments.bounds_within(celsius, low, high)
    while end < until:
        begin = end
        while not low <= celsius[begin] <= high:
            begin += 1
        run = end = begin
        while end < until and low <= celsius[end] <= high:
            end += 1
        for at in range(begin, end):
            if at + 1 == end or seconds[at + 1] - seconds[at] > trace.most_seconds:
                if first < 0 or seconds[at] - seconds[run] > sure:
                    first, last, sure = run, at, seconds[at] - seconds[run]
                run = at + 1
        before = seconds[begin - 1] if begin > 0 else seconds[0] - trace.step_seconds
        after = seconds[end] if end < count else seconds[end - 1] + trace.step_seconds
        possible = max(possible, after - before)
        if begin == 0 or end == count:
            unseen = np.inf
        elif segments.longest_step(seconds[begin - 1 : end + 1]) > trace.most_seconds:
            unseen = max(unseen, after - before)
    return first, last, sure, possible, unseen
