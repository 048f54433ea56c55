"""How limits are widened where subjects differ more than chance makes them, and in which way.

Multiplicative: every score is as many times too large, whatever the volume. Additive: true shares
lie around the common one, so a score is the more too large the more the subject has run. Which of
the two is used follows a rule, not taste: both are set so that the winsorised scores have a mean
square of 1, and the one under which they are likelier is taken; the multiplicative one in a tie,
as for subjects of the same volume, where both are the same. Scores are winsorised, because
otherwise the one subject that is truly out of line would widen the limits until it hides itself.

Source: D. J. Spiegelhalter, Qual. Saf. Health Care 14 (2005) 347-351, for both ways and for
winsorising; R. C. Paule and J. Mandel, J. Res. Natl. Bur. Stand. 87 (1982) 377-385, for the
variance; the rule between them is ours.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize

from pipeline.measure.intervals import Floats, counts
from pipeline.measure.tails import upper_limit

Way = Literal["none", "multiplicative", "additive"]

WINSORISED = 0.1
"""Share of the subjects pulled in at either end. Source: Spiegelhalter 2005."""
OUTER_P = 0.001
"""Chance of lying above the outer limit when nothing is wrong. Source: Spiegelhalter 2005."""
TIE = 1e-6
"""Log-likelihoods nearer than this are the same but for rounding."""


@dataclass(frozen=True, slots=True)
class Widening:
    """`dispersion` is the mean squared winsorised score, `variance` that of true shares.

    The variance is 0 unless the way is additive; the dispersion is 1 where there is none.
    """

    way: Way
    share: float
    dispersion: float
    variance: float

    def factors(self, totals: ArrayLike) -> Floats:
        """How many times the variance by chance is exceeded, at each volume; 1 for no volume."""
        n = np.asarray(totals, dtype=np.float64)
        if self.way == "additive":
            return np.asarray(1 + self.variance * n / (self.share * (1 - self.share)))
        return np.full(n.shape, self.dispersion)


def widening(events: ArrayLike, totals: ArrayLike, share: float) -> Widening:
    """The widening for these subjects against one share; none where chance explains them."""
    x, n = counts(events, totals)
    x, n = x[n > 0], n[n > 0]
    if len(n) == 0 or not 0 < share < 1:
        return Widening("none", share, 1.0, 0.0)
    squares = winsorised_scores(x, n, share) ** 2
    phi = float(squares.mean())
    if phi <= 1:
        return Widening("none", share, 1.0, 0.0)
    weight = n / (share * (1 - share))
    variance = _variance(squares, weight)
    # Sorted, so that the order of the subjects does not decide near a tie.
    logs = float(np.sort(np.log1p(variance * weight)).sum())
    # The mean square is 1 under both, so the likelihoods differ by these sums alone.
    if logs < len(n) * np.log(phi) - TIE:
        return Widening("additive", share, phi, variance)
    return Widening("multiplicative", share, phi, 0.0)


def winsorised_scores(events: Floats, totals: Floats, share: float) -> Floats:
    """Distance of each subject from a share in sigmas of chance, the outer ones pulled in."""
    scores = (events / totals - share) / np.sqrt(share * (1 - share) / totals)
    low, high = np.quantile(scores, [WINSORISED, 1 - WINSORISED])
    return np.clip(scores, low, high)


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


def _variance(squares: Floats, weight: Floats) -> float:
    """The variance of true shares under which the squared scores have a mean of 1."""
    order = np.lexsort((squares, weight))
    squares, weight = squares[order], weight[order]

    def beyond(variance: float) -> float:
        return float((squares / (1 + variance * weight)).mean()) - 1

    most = float(squares.max() / weight.min())
    return float(optimize.brentq(beyond, 0.0, most, xtol=1e-15, rtol=1e-12))
