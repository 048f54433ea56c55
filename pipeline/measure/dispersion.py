"""Whether subjects differ more than chance makes them, and which lies outside even so.

Shares are 0-1. Over-dispersion widens limits; it is estimated from winsorised scores, because
otherwise the one subject that is truly out of line would widen the limits until it hides itself.

Source: D. J. Spiegelhalter, Qual. Saf. Health Care 14 (2005) 347-351.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.measure.intervals import Floats, counts
from pipeline.measure.tails import upper_limit

WINSORISED = 0.1
"""Share of the subjects pulled in at either end. Source: Spiegelhalter 2005."""
OUTER_P = 0.001
"""Chance of lying above the outer limit when nothing is wrong. Source: Spiegelhalter 2005."""


def dispersion(events: ArrayLike, totals: ArrayLike, share: float) -> float:
    """Mean squared score of the subjects against one share for all; 1 is what chance makes.

    Never below 1: subjects more alike than chance makes them do not narrow the limits. Also 1 for
    no subjects, and for a share of 0 or 1, against which nothing can be scored.
    """
    x, n = counts(events, totals)
    x, n = x[n > 0], n[n > 0]
    if len(n) == 0 or not 0 < share < 1:
        return 1.0
    return max(1.0, float(np.mean(winsorised_scores(x, n, share) ** 2)))


def winsorised_scores(events: Floats, totals: Floats, share: float) -> Floats:
    """Distance of each subject from a share in sigmas of chance, the outer ones pulled in."""
    scores = (events / totals - share) / np.sqrt(share * (1 - share) / totals)
    low, high = np.quantile(scores, [WINSORISED, 1 - WINSORISED])
    return np.clip(scores, low, high)


def between_variance(events: ArrayLike, totals: ArrayLike, share: float) -> float:
    """Variance of the true shares around the common one, by moments; 0 when chance explains all.

    The additive way: large subjects keep more of their distance than under the multiplicative one.
    It is not winsorised, so one subject that is truly out of line adds to it; the funnel's limits
    are therefore widened by `widening`, and this stands beside it.
    Source: R. DerSimonian and N. Laird, Controlled Clinical Trials 7 (1986) 177-188, with the
    common share given.
    """
    x, n = counts(events, totals)
    x, n = x[n > 0], n[n > 0]
    if len(n) < 2 or not 0 < share < 1:
        return 0.0
    weight = n / (share * (1 - share))
    spread = float((weight * (x / n - share) ** 2).sum())
    of_weights = weight.sum() - (weight**2).sum() / weight.sum()
    return max(0.0, (spread - (len(n) - 1)) / float(of_weights))


def additive_scores(events: ArrayLike, totals: ArrayLike, share: float) -> Floats:
    """Distance of each subject from the common share, in sigmas of chance and true differences."""
    x, n = counts(events, totals)
    variance = share * (1 - share) / n + between_variance(events, totals, share)
    return np.asarray((x / n - share) / np.sqrt(variance))


def widened(limit: Floats, share: float, phi: float | Floats) -> Floats:
    """A limit moved away from the share by the square root of the dispersion; stays a share.

    `phi` is one number, or one for each limit.
    """
    return np.clip(share + (limit - share) * np.sqrt(phi), 0.0, 1.0)


def is_outside(
    events: ArrayLike, totals: ArrayLike, share: float, phi: float | Floats
) -> NDArray[np.bool_]:
    """True for each subject above the outer limit: exact, and widened by the dispersion."""
    x, n = counts(events, totals)
    limit = widened(upper_limit(n, share, OUTER_P), share, phi)
    # Counts are whole, so a hair's breadth keeps rounding from putting one on the limit above it.
    return np.asarray(x > limit * n + 1e-9)
