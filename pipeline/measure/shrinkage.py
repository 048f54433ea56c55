"""Likely shares: what each subject shows, drawn towards the others as far as the data ask for it.

Empirical Bayes with a beta prior whose two parameters maximise the marginal (beta-binomial)
likelihood of all subjects. Shares are 0-1. The intervals take the fitted prior as known, so with
very few subjects they are somewhat too short.

Source: A. Gelman et al., Bayesian Data Analysis (3rd ed. 2013), chapter 5; B. Efron and C. Morris,
Scientific American 236 (5) (1977) 119-127.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from pipeline.measure.beta_binomial import Tally, gain
from pipeline.measure.beta_binomial_fit import ROUNDING, top
from pipeline.measure.intervals import Floats, counts, exact_bounds


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of a subject before its own record is looked at: Beta(alpha, beta).

    When pooled, the subjects show no difference that chance would not make; alpha and beta are
    then the events and the others of the whole network, and every subject gets the one share.
    """

    alpha: float
    beta: float
    mean_share: float
    is_pooled: bool


@dataclass(frozen=True, slots=True)
class Likely:
    """Posterior mean and both ends of its interval, one of each for every subject."""

    share: Floats
    low: Floats
    high: Floats


def fit_prior(events: ArrayLike, totals: ArrayLike) -> Prior | None:
    """Beta prior of highest marginal likelihood; None when nobody has run anything.

    Complete pooling when no beta explains the counts better than one share for all, which is so
    for a single subject, for no events at all, and for records more alike than chance makes them.
    Does not depend on the order of the subjects.
    """
    x, n = counts(events, totals)
    tally = Tally.of(x[n > 0], n[n > 0])
    if tally.subject_count == 0:
        return None
    if tally.event_sum > 0 and tally.other_sum > 0:
        logit_mean, log_weight = top(tally)
        if gain(tally, logit_mean, log_weight)[0] > tally.cycle_count * ROUNDING:
            weight, mean = np.exp(log_weight), special.expit(logit_mean)
            beta = special.expit(-logit_mean) * weight
            return Prior(float(mean * weight), float(beta), float(mean), is_pooled=False)
    return Prior(tally.event_sum, tally.other_sum, tally.pooled_share, is_pooled=True)


def posterior(prior: Prior, events: ArrayLike, totals: ArrayLike) -> tuple[Floats, Floats]:
    """Parameters of each subject's beta posterior, for a prior that is not pooled."""
    assert not prior.is_pooled, "a pooled prior holds the subjects' own records already"
    x, n = counts(events, totals)
    return prior.alpha + x, prior.beta + n - x


def shrink(prior: Prior, events: ArrayLike, totals: ArrayLike, mass: float = 0.9) -> Likely:
    """Likely share of each subject with an equal-tailed interval of this mass.

    A subject that has run nothing gets the prior. An end is moved out to the mean in the rare case
    that the tails leave it outside (a prior far below one event). Pooled: the common share, with
    the exact interval of the whole network's record, for everybody.
    """
    if prior.is_pooled:
        shape = counts(events, totals)[0].shape
        low, high = exact_bounds([prior.alpha], [prior.alpha + prior.beta], mass)
        return Likely(
            np.full(shape, prior.mean_share), np.full(shape, low[0]), np.full(shape, high[0])
        )
    alpha, beta = posterior(prior, events, totals)
    share = alpha / (alpha + beta)
    tail = (1 - mass) / 2
    low = np.minimum(special.betaincinv(alpha, beta, tail), share)
    high = np.maximum(special.betainccinv(alpha, beta, tail), share)
    return Likely(share, low, high)
