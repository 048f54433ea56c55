"""A. Gelman et al., Bayesian Data Analysis (3rd ed. 2013), section 5.1: tumours in 71 groups of
rats, the data of R. E. Tarone, Biometrics 38 (1982) 215-220. The last group is the current one.

The book prints the moment estimates and what they make of the current group; it has no marginal
maximum, so that is compared with a plain maximisation over scipy's beta-binomial.
"""

import numpy as np
import pytest
from scipy import optimize, stats

from pipeline.measure.shrinkage import Prior, fit_prior, shrink

TOTALS_AS_PRINTED = """20 20 20 20 20 20 20 19 19 19 19 18 18 17 20 20 20 20 19 19 18 18 25 24
    23 20 20 20 20 20 20 10 49 19 46 27 17 49 47 20 20 13 48 50 20 20 20 20
    20 20 20 48 19 19 19 22 46 49 20 20 23 19 22 20 20 20 52 46 47 24 14"""
TUMOURS_AS_PRINTED = """0 0 0 0 0 0 0 0 0 0 0 0 0 0 1 1 1 1 1 1 1 1 2 2
    2 2 2 2 2 2 2 1 5 2 5 3 2 7 7 3 3 2 9 10 4 4 4 4
    4 4 4 10 4 4 4 5 11 12 5 5 6 5 6 6 6 6 16 15 15 9 4"""
TOTALS = np.array(TOTALS_AS_PRINTED.split(), dtype=float)
TUMOURS = np.array(TUMOURS_AS_PRINTED.split(), dtype=float)


def test_the_moments_of_the_70_earlier_groups_are_those_printed() -> None:
    shares = TUMOURS[:70] / TOTALS[:70]
    assert shares.mean() == pytest.approx(0.136, abs=0.0005)
    assert shares.std(ddof=1) == pytest.approx(0.103, abs=0.0005)


def test_the_book_s_prior_shrinks_the_current_group_as_printed() -> None:
    shares = TUMOURS[:70] / TOTALS[:70]
    mean = shares.mean()
    weight = mean * (1 - mean) / shares.var(ddof=1) - 1
    prior = Prior(mean * weight, (1 - mean) * weight, mean, is_pooled=False)
    assert prior.alpha == pytest.approx(1.4, abs=0.05)
    assert prior.beta == pytest.approx(8.6, abs=0.05)
    current = shrink(prior, TUMOURS[70:], TOTALS[70:])
    assert current.share[0] == pytest.approx(0.223, abs=0.0005)


def test_no_other_prior_makes_the_71_groups_more_likely() -> None:
    def loss(logs: np.ndarray) -> float:
        return -float(stats.betabinom.logpmf(TUMOURS, TOTALS, *np.exp(logs)).sum())

    plain = optimize.minimize(
        loss, np.log([1.4, 8.6]), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12}
    )
    prior = fit_prior(TUMOURS, TOTALS)
    assert prior is not None
    assert not prior.is_pooled
    assert np.log([prior.alpha, prior.beta]) == pytest.approx(plain.x, abs=1e-5)
    # The same maximum found beforehand with another program, to the digits noted then.
    assert (prior.alpha, prior.beta) == pytest.approx((2.3416, 14.1148), abs=0.0001)


def test_likely_shares_lie_between_the_group_s_own_and_the_mean_of_all() -> None:
    prior = fit_prior(TUMOURS, TOTALS)
    assert prior is not None
    likely = shrink(prior, [4, 0, 16], [14, 20, 52])
    # Recomputed with scipy.stats.beta from the maximum above; the book prints none of these.
    assert likely.share == pytest.approx([0.2082, 0.0642, 0.2679], abs=0.00005)
