"""How surprising a count is, exactly: binomial tails and the limits drawn from them.

Shares are 0-1. A verdict comes from `p_at_least` or `upper_limit`. `funnel_limit` is a smooth line
for the eye: because counts are whole, a point a little outside it can be less surprising than the
line says (S. E. Seaton and B. N. Manktelow, BMC Med. Res. Methodol. 12 (2012) 98).
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from pipeline.measure.intervals import Floats, counts

FUNNEL_P = (0.001, 0.025, 0.975, 0.999)
"""Cumulative probabilities of the four usual lines (99.8 %, 95 %). Source: Spiegelhalter 2005."""


def p_at_least(events: ArrayLike, total: ArrayLike, share: ArrayLike) -> Floats:
    """P(this many events or more of this total) if each comes with this share; 1 for no events."""
    x, n = counts(*np.broadcast_arrays(events, total))
    return np.asarray(special.bdtrc(x - 1, n.astype(np.int64), share))


def upper_limit(total: ArrayLike, share: ArrayLike, p: float) -> Floats:
    """Largest share of events that is still usual: more than this has a probability of at most p.

    A count lies above it exactly when `p_at_least` of that count is at most p. NaN for no cycles.
    """
    n = _known(total)
    return np.asarray(stats.binom.isf(p, n, share) / n)


def funnel_limit(total: ArrayLike, share: ArrayLike, p: float) -> Floats:
    """Share at which the interpolated binomial distribution reaches p; NaN for no cycles.

    With r the smallest count whose cumulative probability reaches p, the limit is (r - a) / total,
    where a is the part of the last step that was not needed; never below 0.
    Source: D. J. Spiegelhalter, Statistics in Medicine 24 (2005) 1185-1202, appendix.
    """
    n = _known(total)
    r = stats.binom.ppf(p, n, share)
    reached = stats.binom.cdf(r, n, share)
    unused = (reached - p) / (reached - stats.binom.cdf(r - 1, n, share))
    return np.asarray(np.maximum((r - unused) / n, 0.0))


def _known(total: ArrayLike) -> Floats:
    """Totals with NaN for 0, of which no share can be taken."""
    n = np.asarray(total, dtype=np.float64)
    return np.where(n > 0, n, np.nan)
