"""Positions in a ranking as ranges, never as a bare rank.

Position 1 is the worst. Shares are 0-1. The ranges come from seeded draws of all posteriors at
once, so the same counts give the same bytes (with the pinned numpy: it may change its streams
between versions).

Source: H. Goldstein and D. J. Spiegelhalter, J. R. Stat. Soc. A 159 (1996) 385-443; E. C. Marshall
and D. J. Spiegelhalter, BMJ 316 (1998) 1701-1705.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from pipeline.measure.intervals import Floats, counts
from pipeline.measure.shrinkage import Prior, posterior

Better = Literal["lower", "higher"]

SEED = 134
"""Any fixed number would do; it is part of the result, so it does not change."""
TAIL = 0.05
"""Left out at either end: the range holds at least 90 %."""
DRAWN_AT_ONCE = 2_000_000
"""Rates held in memory at a time, 16 MB; how the draws are portioned does not change them."""
MANY = 2000
"""From so many subjects on, places follow from where a rate lies among all posteriors: the luck of
the others then moves a place by less than one in a hundred, and that is added to the range."""
RATES_IN_ALL = 2_000_000
"""Drawn from the posteriors of many subjects together."""


WORST_SHARE = 0.1
"""Of the subjects, rounded up, that are the worst tenth."""


@dataclass(frozen=True, slots=True)
class Positions:
    """Both ends of the position and two chances, one of each for every subject.

    `p_worse` is that of a rate worse than all together, `p_tenth` that of a place among the worst
    tenth; over all subjects the latter add up to the size of the tenth.
    """

    low: NDArray[np.int64]
    high: NDArray[np.int64]
    p_worse: Floats
    p_tenth: Floats


def positions(
    prior: Prior,
    events: ArrayLike,
    totals: ArrayLike,
    *,
    better: Better,
    draws: int = 4000,
    seed: int = SEED,
) -> Positions:
    """Range of each subject's position among these, and P(its rate is worse than all together).

    "All together" is the pooled share of the counts given; the probability is exact, from the
    posterior, not from draws. With a pooled prior nothing tells the subjects apart: each may have
    any position, and p_worse is 0.5. Subjects with the same record get the same range, and the
    order in which they come does not matter.
    """
    x, n = counts(events, totals)
    if prior.is_pooled:
        size = len(x)
        alike = np.full(size, worst_tenth(size) / size if size else np.nan)
        return Positions(np.ones(size, np.int64), np.full(size, size), np.full(size, 0.5), alike)
    assert n.sum() > 0, "a prior that is not pooled was fitted to subjects that ran something"
    alpha, beta = posterior(prior, x, n)
    worse = special.betaincc if better == "lower" else special.betainc
    p_worse = worse(alpha, beta, x.sum() / n.sum())

    # Drawn in the order of the records, so that the order of the subjects cannot matter.
    records, record_of, sizes = np.unique(
        np.stack([x, n], axis=1), axis=0, return_inverse=True, return_counts=True
    )
    members = np.repeat(np.arange(len(records)), sizes)
    alpha, beta = posterior(prior, *records[members].T)
    if len(x) >= MANY:
        low, high, p_tenth = _placed(*posterior(prior, x, n), alpha, beta, better, seed)
        return Positions(low, high, p_worse, p_tenth)
    ranks = _drawn_ranks(alpha, beta, better, draws, np.random.default_rng(seed))
    low, high = np.quantile(ranks, [TAIL, 1 - TAIL], axis=0, method="inverted_cdf")
    low_of_record = np.floor(np.bincount(members, low) / sizes).astype(np.int64)
    high_of_record = np.ceil(np.bincount(members, high) / sizes).astype(np.int64)
    is_worst = (ranks <= worst_tenth(len(x))).mean(axis=0)
    tenth_of_record = np.bincount(members, is_worst) / sizes
    return Positions(
        low_of_record[record_of], high_of_record[record_of], p_worse, tenth_of_record[record_of]
    )


def worst_tenth(size: int) -> int:
    """How many of so many subjects are the worst tenth: at least one."""
    return -(-size // round(1 / WORST_SHARE))


def _placed(
    alpha: Floats, beta: Floats, all_alpha: Floats, all_beta: Floats, better: Better, seed: int
) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
    """Places among many: the ends of each rate's interval placed among all rates, and p_tenth.

    A place given the subject's own rate is a sum of many small chances, nearly normal, whose
    variance is at most a quarter of their number; both spreads are added as variances are.
    """
    size = len(alpha)
    draws = max(1, RATES_IN_ALL // size)
    generator = np.random.default_rng(seed)
    rates = np.sort(generator.beta(all_alpha, all_beta, (draws, size)).ravel())

    def place(share: Floats) -> Floats:
        """Position, from 1, of a rate among the others."""
        below = np.searchsorted(rates, share) / rates.size
        return np.asarray(0.5 + size * ((1 - below) if better == "lower" else below))

    ends = [place(special.betaincinv(alpha, beta, tail)) for tail in (TAIL, 1 - TAIL)]
    middle = place(special.betaincinv(alpha, beta, 0.5))
    share = np.clip((middle - 0.5) / size, 0, 1)
    luck = special.ndtri(1 - TAIL) * np.sqrt(size * share * (1 - share))
    first, last = np.minimum(*ends), np.maximum(*ends)
    low = np.floor(middle - np.hypot(middle - first, luck))
    high = np.ceil(middle + np.hypot(last - middle, luck))
    # Among many, the rate that a tenth of them exceed moves little from draw to draw.
    tenth = worst_tenth(size) / size
    if better == "lower":
        p_tenth = special.betaincc(alpha, beta, _sorted_quantile(rates, 1 - tenth))
    else:
        p_tenth = special.betainc(alpha, beta, _sorted_quantile(rates, tenth))
    low, high = np.clip(low, 1, size), np.clip(high, 1, size)
    return low.astype(np.int64), high.astype(np.int64), np.asarray(p_tenth)


def _sorted_quantile(ordered: Floats, share: float) -> float:
    """The quantile as numpy interpolates it, without looking for the order that is there."""
    at = share * (len(ordered) - 1)
    below = int(at)
    low, high = ordered[below], ordered[min(below + 1, len(ordered) - 1)]
    return float(low + (high - low) * (at - below))


def _drawn_ranks(
    alpha: Floats, beta: Floats, better: Better, draws: int, generator: np.random.Generator
) -> NDArray[np.int32]:
    """Position of each subject (column) in each draw (row)."""
    ranks = np.empty((draws, len(alpha)), np.int32)
    positions_from_worst = np.arange(1, len(alpha) + 1, dtype=np.int32)[np.newaxis]
    portion = max(1, DRAWN_AT_ONCE // len(alpha))
    for first in range(0, draws, portion):
        part = ranks[first : first + portion]
        rates = generator.beta(alpha, beta, part.shape)
        worst_first = np.argsort(-rates if better == "lower" else rates, axis=1)
        np.put_along_axis(part, worst_first, positions_from_worst, axis=1)
    return ranks
