"""Boys among the first twelve children of 6,115 Saxon families: A. Geissler 1889, as reprinted by
J. K. Lindsey and P. M. E. Altham, Applied Statistics 47 (1998) 149-157.

Fit as printed in Wikipedia, "Beta-binomial distribution", example on the heterogeneity of the sex
ratio: AIC 25070.34 for the binomial, 24989.74 for the beta-binomial with alpha 34.09558 and beta
31.5715.
"""

import numpy as np
import pytest
from scipy import special

from pipeline.measure.beta_binomial import Tally, gain
from pipeline.measure.shrinkage import fit_prior

FAMILIES = [3, 24, 104, 286, 670, 1033, 1343, 1112, 829, 478, 181, 45, 7]
BOYS = np.repeat(np.arange(13.0), FAMILIES)
CHILDREN = np.full(6115, 12.0)


def gain_of(alpha: float, beta: float) -> float:
    return gain(
        Tally.of(BOYS, CHILDREN), float(special.logit(alpha / (alpha + beta))), np.log(alpha + beta)
    )[0]


def test_the_gain_over_one_share_for_all_is_half_the_fall_of_the_aic() -> None:
    # The AIC charges 2 for each parameter, and the beta-binomial has one more.
    printed = (25070.34 - 24989.74) / 2 + 1
    assert gain_of(34.09558, 31.5715) == pytest.approx(printed, abs=0.01)


def test_the_fit_is_the_printed_one_and_no_less_likely() -> None:
    prior = fit_prior(BOYS, CHILDREN)
    assert prior is not None
    # The printed fit stopped a little short: its likelihood is lower in the eighth digit.
    assert (prior.alpha, prior.beta) == pytest.approx((34.09558, 31.5715), rel=0.0005)
    assert gain_of(prior.alpha, prior.beta) >= gain_of(34.09558, 31.5715)
    assert prior.mean_share == pytest.approx(0.5192, abs=0.00005)
