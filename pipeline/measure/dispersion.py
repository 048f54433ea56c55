"""Whether subjects differ more than chance makes them, and which lies outside even so.

Shares are 0-1. Over-dispersion widens limits; it is estimated from winsorised scores, because
otherwise the one subject that is truly out of line would widen the limits until it hides itself.

Source: D. J. Spiegelhalter, Qual. Saf. Health Care 14 (2005) 347-351.
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from pipeline.measure.intervals import Floats, counts
from pipeline.measure.tails import p_at_least

WINSORISED = 0.1
"""Share of the subjects pulled in at either end. Source: Spiegelhalter 2005."""
OUTER_Z = 3.09
"""Upper one in a thousand: the outer line of a funnel plot. Source: Spiegelhalter 2005."""


def dispersion(events: ArrayLike, totals: ArrayLike, share: float) -> float:
    """Mean squared score of the subjects against one share for all; 1 is what chance makes.

    Never below 1: subjects more alike than chance makes them do not narrow the limits. Also 1 for
    no subjects, and for a share of 0 or 1, against which nothing can be scored.
    """
    x, n = counts(events, totals)
    x, n = x[n > 0], n[n > 0]
    if len(n) == 0 or not 0 < share < 1:
        return 1.0
    scores = (x / n - share) / np.sqrt(share * (1 - share) / n)
    low, high = np.quantile(scores, [WINSORISED, 1 - WINSORISED])
    return max(1.0, float(np.mean(np.clip(scores, low, high) ** 2)))


def excess_score(events: ArrayLike, totals: ArrayLike, share: float) -> Floats:
    """How far each count lies above this share, as the normal score of its exact binomial tail."""
    return -special.ndtri(p_at_least(events, totals, share))


def is_outside(events: ArrayLike, totals: ArrayLike, share: float, phi: float) -> np.ndarray:
    """True for each count above the outer limit, widened by the square root of the dispersion."""
    return np.asarray(excess_score(events, totals, share) >= OUTER_Z * np.sqrt(phi))
