"""Whether two shares differ, as a range of the difference rather than a yes or no."""

import numpy as np

from pipeline.measure.intervals import Interval, wilson_interval


def newcombe_interval(
    events: int, total: int, other_events: int, other_total: int, confidence: float = 0.95
) -> Interval | None:
    """Range of the first share less the other, from both Wilson ranges; None when either is of 0.

    The hybrid score interval without continuity correction, "method 10".
    Source: R. G. Newcombe, Statistics in Medicine 17 (1998) 873-890.
    """
    one = wilson_interval(events, total, confidence)
    other = wilson_interval(other_events, other_total, confidence)
    if one is None or other is None:
        return None
    share, other_share = events / total, other_events / other_total
    difference = share - other_share
    down = np.hypot(share - one.low, other.high - other_share)
    up = np.hypot(one.high - share, other_share - other.low)
    return Interval(float(difference - down), float(difference + up))
