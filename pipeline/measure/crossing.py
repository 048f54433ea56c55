"""When a value that drifts would pass its limit, as a range of dates or as "no limit in sight".

A line is no reason to put off a leak or a service: it says when it is too late, not until when it
is safe.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.measure.intervals import Floats
from pipeline.measure.spans import Spans
from pipeline.measure.trend_many import Slopes, slopes_of_rows

RISE_WEEKS, LEAST_RISE_WEEKS = 26, 8
"""Of the present rise, at most and at least so many: level weeks before it would flatten its line,
and the dates would come out months too late."""


@dataclass(frozen=True, slots=True)
class Crossings:
    """x at which each line reaches its limit: soonest, likely and latest; inf means never."""

    soonest: Floats
    likely: Floats
    latest: Floats


@dataclass(frozen=True, slots=True)
class Rises:
    """The line of each present rise; x in weeks from its first.

    `middle` is the median x, `last` the x of the last week.
    """

    slopes: Slopes
    middle: Floats
    last: Floats


def rises(spans: Spans, counts: NDArray[np.int64], onset_on: NDArray[np.int64]) -> Rises:
    """Lines through the weeks since each onset, an ordinal; -1 where no onset was dated.

    `counts` is the number of weeks known of each span, one at least.
    """
    row, last = np.arange(len(spans)), counts - 1
    earliest = spans.mondays[row, last] - 7 * (RISE_WEEKS - 1)
    first = (spans.mondays < np.maximum(earliest, onset_on)[:, np.newaxis]).sum(axis=1)
    first = np.maximum(np.minimum(first, counts - LEAST_RISE_WEEKS), 0)
    sizes = counts - first
    columns = first[:, np.newaxis] + np.arange(RISE_WEEKS)
    taken = np.minimum(columns, spans.middles.shape[1] - 1)
    mondays = np.take_along_axis(spans.mondays, taken, axis=1)
    weeks = (mondays - mondays[:, :1]) / 7
    slopes = slopes_of_rows(np.take_along_axis(spans.middles, taken, axis=1), weeks, sizes)
    middle = (weeks[row, (sizes - 1) // 2] + weeks[row, sizes // 2]) / 2
    return Rises(slopes, middle, weeks[row, sizes - 1])


def crossings(
    slopes: Slopes, limits: Floats, direction: Floats, middle: Floats | float = 0.0
) -> Crossings:
    """Where the slope and both ends of its interval lead to the limit, all through one point.

    That point is the line's own at x = `middle`: about the middle of the x that it was drawn
    through, lines of other slopes fit about as well, about any other point they do not.

    `direction` is 1 where the limit is an upper one and -1 where it is a lower one. A slope that
    does not lead towards the limit never reaches it. A line that is past its limit already gives an
    x in the past. NaN where the slope or the limit is unknown.
    """
    steepest = np.where(direction > 0, slopes.high, -slopes.low)
    flattest = np.where(direction > 0, slopes.low, -slopes.high)
    room = (limits - slopes.intercept - slopes.slope * middle) * direction
    return Crossings(
        *(middle + _reached(room, one) for one in (steepest, slopes.slope * direction, flattest))
    )


def _reached(room: Floats, pace: Floats) -> Floats:
    with np.errstate(divide="ignore", invalid="ignore"):
        x = np.where(pace > 0, room / pace, np.inf)
    return np.where(np.isnan(room) | np.isnan(pace), np.nan, x)
