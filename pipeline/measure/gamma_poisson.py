"""Likely rates of counts per exposure: what each subject shows, drawn towards the others.

Empirical Bayes with a gamma prior whose two parameters maximise the marginal (negative binomial)
likelihood of all subjects. Rates are counts per one of the exposure (cycles, tasks, days), and may
be above 1: what is counted may happen more than once. The intervals take the fitted prior as known,
so with very few subjects they are somewhat too short.

Source: A. Gelman et al., Bayesian Data Analysis (3rd ed. 2013), sections 2.6 and 2.7; D. P. Gaver
and I. G. O'Muircheartaigh, Technometrics 29 (1987) 1-15.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, special

from pipeline.measure.intervals import Floats
from pipeline.measure.poisson import garwood_bounds
from pipeline.measure.shrinkage import Likely

STARTS = (0.0, 2.0, 5.0)
"""Logarithms of the shape from which the top is looked for; far out the likelihood is flat."""
SHAPES = (-7.0, 16.0)
"""Between these logarithms the shape is looked for; beyond, a prior is all or nothing."""
LEAST_GAIN = 1e-6
"""A log-likelihood gained that is smaller may be rounding."""


@dataclass(frozen=True, slots=True)
class RatePrior:
    """What is known of a subject before its own record is looked at: Gamma(shape, exposure).

    When pooled, the subjects show no difference that chance would not make; shape and exposure are
    then the events and the exposure of all, and every subject gets the one rate.
    """

    shape: float
    exposure: float
    is_pooled: bool

    @property
    def mean_rate(self) -> float:
        """Of all subjects that might be."""
        return self.shape / self.exposure


def fit_rate_prior(events: ArrayLike, exposures: ArrayLike) -> RatePrior | None:
    """Gamma prior of highest marginal likelihood; None when nobody was exposed.

    Complete pooling when no gamma explains the counts better than one rate for all, which is so for
    a single subject, for no events at all, and for records more alike than chance makes them. Does
    not depend on the order of the subjects.
    """
    x, t = _exposed(events, exposures)
    if len(t) == 0:
        return None
    pooled = RatePrior(float(x.sum()), float(t.sum()), is_pooled=True)
    if len(t) == 1 or x.sum() == 0:
        return pooled
    tops = [
        optimize.minimize(
            _loss,
            (0.0, start),
            (x, t, pooled.mean_rate),
            jac=True,
            method="L-BFGS-B",
            bounds=[(-20, 20), SHAPES],
            options={"ftol": 1e-15, "gtol": 1e-9, "maxiter": 500},
        )
        for start in STARTS
    ]
    best = min(tops, key=lambda one: float(one.fun))
    log_ratio, log_shape = best.x
    if -best.fun < LEAST_GAIN or log_shape > SHAPES[1] - 1:
        return pooled
    shape, mean = float(np.exp(log_shape)), pooled.mean_rate * float(np.exp(log_ratio))
    return RatePrior(shape, shape / mean, is_pooled=False)


def shrink_rates(
    prior: RatePrior, events: ArrayLike, exposures: ArrayLike, mass: float = 0.9
) -> Likely:
    """Likely rate of each subject with an equal-tailed interval of this mass, as `shrink` does."""
    x, t = np.asarray(events, np.float64), np.asarray(exposures, np.float64)
    if prior.is_pooled:
        low, high = (ends / prior.exposure for ends in garwood_bounds([prior.shape], mass))
        alike = np.ones(x.shape)
        return Likely(prior.mean_rate * alike, low * alike, high * alike)
    shape, exposure = prior.shape + x, prior.exposure + t
    rate, tail = shape / exposure, (1 - mass) / 2
    low = np.minimum(special.gammaincinv(shape, tail) / exposure, rate)
    high = np.maximum(special.gammainccinv(shape, tail) / exposure, rate)
    return Likely(rate, low, high)


def _exposed(events: ArrayLike, exposures: ArrayLike) -> tuple[Floats, Floats]:
    """Counts and exposures of those that were exposed, in an order that is the records' own."""
    x, t = np.asarray(events, np.float64), np.asarray(exposures, np.float64)
    assert x.shape == t.shape, "as many events as exposures"
    assert np.all(x >= 0) and np.all(t >= 0), "events and exposures are counted"
    assert not np.any((x > 0) & (t == 0)), "what happened, happened while exposed"
    order = np.lexsort((x, t))
    x, t = x[order], t[order]
    return x[t > 0], t[t > 0]


def _loss(at: Floats, x: Floats, t: Floats, pooled: float) -> tuple[float, Floats]:
    """Log-likelihood lost against one rate for all, below 0 where it is gained, and its slope.

    `at` holds the logarithms of the mean over the pooled rate and of the shape.
    """
    ratio, shape = np.exp(at)
    ahead = ratio * pooled * t / shape
    own = special.gammaln(shape + x) - special.gammaln(shape) - x * at[1]
    gain = own + x * at[0] - (shape + x) * np.log1p(ahead) + pooled * t
    by_ratio = x - (shape + x) * ahead / (1 + ahead)
    by_shape = shape * (special.digamma(shape + x) - special.digamma(shape)) - x
    by_shape += (shape + x) * ahead / (1 + ahead) - shape * np.log1p(ahead)
    return -float(gain.sum()), -np.array([by_ratio.sum(), by_shape.sum()])
