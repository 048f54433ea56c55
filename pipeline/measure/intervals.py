"""Ranges in which a true share plausibly lies, from x events of n.

Shares are 0-1. The arrays do the work and the functions for one share ask them, so that a page and
a ranking can never disagree. Nothing here knows what is being counted.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

Floats = NDArray[np.float64]
"""One number for each subject."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Both ends of a range."""

    low: float
    high: float


def counts(events: ArrayLike, totals: ArrayLike) -> tuple[Floats, Floats]:
    """Both counts as arrays of floats, after making sure that they can be x of n."""
    event_array = np.asarray(events, dtype=np.float64)
    total_array = np.asarray(totals, dtype=np.float64)
    assert event_array.shape == total_array.shape, "as many events as totals"
    assert np.all((event_array >= 0) & (event_array <= total_array)), "events lie within 0..total"
    return event_array, total_array


def wilson_interval(events: int, total: int, confidence: float = 0.95) -> Interval | None:
    """Score interval for x of n; None for no cycles at all, because then nothing is known.

    0 of 20 is known, and gives 0 to 0.161. On average over true shares it covers what it says,
    for a single share it may cover a little less.
    Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212.
    """
    return _one(*wilson_bounds([events], [total], confidence))


def exact_interval(events: int, total: int, confidence: float = 0.95) -> Interval | None:
    """Clopper-Pearson interval for x of n, which never covers less than it says; None for n = 0.

    Wider than Wilson's. Both tails get half of what is left, also for 0 of n and n of n: the
    one-sided 95 % limit is the upper end at confidence 0.90.
    Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.
    """
    return _one(*exact_bounds([events], [total], confidence))


def jeffreys_interval(events: int, total: int, confidence: float = 0.95) -> Interval | None:
    """Equal-tailed range of the Beta(x + 1/2, n - x + 1/2) posterior; None for n = 0.

    As L. D. Brown, T. T. Cai and A. DasGupta, Statistical Science 16 (2001) 101-133, advise, the
    lower end is 0 at 0 events and the upper end 1 when there was nothing else. Other packages keep
    the posterior's own ends there.
    """
    return _one(*jeffreys_bounds([events], [total], confidence))


def wilson_bounds(
    events: ArrayLike, totals: ArrayLike, confidence: float = 0.95
) -> tuple[Floats, Floats]:
    """Wilson's lower and upper ends for many subjects at once; NaN where the total is 0."""
    x, n = counts(events, totals)
    z = special.ndtri((1 + confidence) / 2)
    with np.errstate(invalid="ignore"):
        share = x / n
        middle = x + z * z / 2
        half = z * np.sqrt(x * (1 - share) + z * z / 4)
    # 0 of n and n of n reach the end exactly, which rounding would miss by a hair.
    low = np.where(x == 0, 0.0, (middle - half) / (n + z * z))
    high = np.where(x == n, 1.0, (middle + half) / (n + z * z))
    return _known(low, n), _known(high, n)


def exact_bounds(
    events: ArrayLike, totals: ArrayLike, confidence: float = 0.95
) -> tuple[Floats, Floats]:
    """Clopper-Pearson lower and upper ends for many subjects; NaN where the total is 0."""
    x, n = counts(events, totals)
    tail = (1 - confidence) / 2
    # The quantile is not defined at the ends, where the answer is known: 0 events, or no others.
    low = np.where(x == 0, 0.0, special.betaincinv(np.maximum(x, 1), n - x + 1, tail))
    high = np.where(x == n, 1.0, special.betainccinv(x + 1, np.maximum(n - x, 1), tail))
    return _known(low, n), _known(high, n)


def jeffreys_bounds(
    events: ArrayLike, totals: ArrayLike, confidence: float = 0.95
) -> tuple[Floats, Floats]:
    """Jeffreys' lower and upper ends for many subjects; NaN where the total is 0."""
    x, n = counts(events, totals)
    tail = (1 - confidence) / 2
    low = np.where(x == 0, 0.0, special.betaincinv(x + 0.5, n - x + 0.5, tail))
    high = np.where(x == n, 1.0, special.betainccinv(x + 0.5, n - x + 0.5, tail))
    return _known(low, n), _known(high, n)


def _known(bound: Floats, totals: Floats) -> Floats:
    return np.where(totals > 0, bound, np.nan)


def _one(low: Floats, high: Floats) -> Interval | None:
    return None if np.isnan(low[0]) else Interval(float(low[0]), float(high[0]))
