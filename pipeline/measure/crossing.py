"""When a value that drifts would pass its limit, as a range of dates or as "no limit in sight".

A line is no reason to put off a leak or a service: it says when it is too late, not until when it
is safe.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.measure.intervals import Floats
from pipeline.measure.trend_many import Slopes


@dataclass(frozen=True, slots=True)
class Crossings:
    """x at which each line reaches its limit: soonest, likely and latest; inf means never."""

    soonest: Floats
    likely: Floats
    latest: Floats


def crossings(slopes: Slopes, limits: Floats, direction: Floats) -> Crossings:
    """Where the slope and both ends of its interval lead to the limit, from the same intercept.

    `direction` is 1 where the limit is an upper one and -1 where it is a lower one. A slope that
    does not lead towards the limit never reaches it. A line that is past its limit already gives an
    x in the past. NaN where the slope or the limit is unknown.
    """
    steepest = np.where(direction > 0, slopes.high, -slopes.low)
    flattest = np.where(direction > 0, slopes.low, -slopes.high)
    room = (limits - slopes.intercept) * direction
    return Crossings(
        *(_reached(room, one) for one in (steepest, slopes.slope * direction, flattest))
    )


def _reached(room: Floats, pace: Floats) -> Floats:
    with np.errstate(divide="ignore", invalid="ignore"):
        x = np.where(pace > 0, room / pace, np.inf)
    return np.where(np.isnan(room) | np.isnan(pace), np.nan, x)
