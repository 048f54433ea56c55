"""Ranges for a rate of rare events: how many there would be, from how many there were.

Counts are of one stretch of exposure (days, cycles); divide both ends by the exposure for a rate.
Which of the two is used is always said: the exact range covers at least what it says for every
rate, mid-P on average, and is the shorter.
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, special

from pipeline.measure.intervals import Floats, Interval


def garwood_bounds(events: ArrayLike, confidence: float = 0.95) -> tuple[Floats, Floats]:
    """Exact lower and upper ends of the expected count behind each count seen.

    0 events give 0 to 3.69 at 95 %: both tails get half of what is left, also at 0. The one-sided
    95 % limit of 0 events, the "rule of three", is the upper end at confidence 0.90.
    Source: F. Garwood, Biometrika 28 (1936) 437-442.
    """
    x = np.asarray(events, dtype=np.float64)
    assert np.all(x >= 0), "events are counted"
    tail = (1 - confidence) / 2
    low = np.where(x == 0, 0.0, special.gammaincinv(np.maximum(x, 1), tail))
    return low, np.asarray(special.gammainccinv(x + 1, tail))


def garwood_interval(events: int, confidence: float = 0.95) -> Interval:
    """The exact range of one expected count."""
    low, high = garwood_bounds([events], confidence)
    return Interval(float(low[0]), float(high[0]))


def mid_p_interval(events: int, confidence: float = 0.95) -> Interval:
    """The mid-P range of one expected count: half of the chance of the count itself is counted.

    At 0 events the lower end is 0. It can cover a little less than it says for some rates.
    Source: H. O. Lancaster, J. Am. Stat. Assoc. 56 (1961) 223-234.
    """
    tail = (1 - confidence) / 2
    exact = garwood_interval(events, confidence)

    def below(expected: float) -> float:
        """P(fewer events), and half of P(as many)."""
        fewer = float(special.pdtr(events - 1, expected)) if events else 0.0
        return (fewer + float(special.pdtr(events, expected))) / 2

    def end(of_tail: float) -> float:
        # Each mid-P end lies inside the exact ones, so those enclose it.
        root = optimize.brentq(
            lambda expected: below(expected) - of_tail,
            max(exact.low, 1e-12),
            exact.high,
            xtol=1e-12,
        )
        return float(root)

    return Interval(end(1 - tail) if events else 0.0, end(tail))
