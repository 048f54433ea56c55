"""Counts per exposure: Gelman et al., Bayesian Data Analysis (3rd ed. 2013), sections 2.6 and 2.7,
figures from memory; pumps of a nuclear plant, Gaver and O'Muircheartaigh, Technometrics 29 (1987),
table 3, data from memory. The maximum of the likelihood is found by statsmodels, another hand.
"""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from pipeline.measure.gamma_poisson import RatePrior, fit_rate_prior, shrink_rates

# Failures of ten pumps, and thousands of hours of each.
FAILURES = [5, 1, 5, 14, 3, 19, 1, 1, 4, 22]
HOURS = [94.320, 15.720, 62.880, 125.760, 5.240, 31.440, 1.048, 1.048, 2.096, 10.480]


# Deaths by asthma per 100,000 in a year, from a town of 200,000 in one year and in ten.
@pytest.mark.parametrize(
    ("deaths", "exposure", "mean", "above_one"), [(3, 2, 0.86, 0.30), (30, 20, 1.32, 0.93)]
)
def test_asthma_deaths_of_a_town_have_the_book_s_posterior(deaths, exposure, mean, above_one):
    prior = RatePrior(3.0, 5.0, is_pooled=False)
    found = shrink_rates(prior, [deaths], [exposure])
    assert found.share[0] == pytest.approx(mean, abs=0.005)
    posterior = stats.gamma(3.0 + deaths, scale=1 / (5.0 + exposure))
    assert posterior.sf(1.0) == pytest.approx(above_one, abs=0.005)
    assert (found.low[0], found.high[0]) == pytest.approx(posterior.ppf([0.05, 0.95]))


# Deaths by cancer of the kidney, rates a person and year: a county of 1,000 people in ten years.
@pytest.mark.parametrize(("deaths", "rate"), [(0, 4.55e-5), (1, 4.77e-5), (2, 5.00e-5)])
def test_a_small_county_is_drawn_to_the_country_as_in_the_book(deaths, rate):
    found = shrink_rates(RatePrior(20.0, 430_000.0, is_pooled=False), [deaths], [10_000])
    assert found.share[0] == pytest.approx(rate, abs=6e-8)


def test_the_pumps_prior_is_that_of_the_highest_likelihood():
    model = sm.NegativeBinomial(FAILURES, np.ones(10), exposure=np.array(HOURS))
    fitted = model.fit(disp=0, method="nm", maxiter=2000, xtol=1e-9, ftol=1e-12)
    log_mean, dispersion = fitted.params
    found = fit_rate_prior(FAILURES, HOURS)
    assert not found.is_pooled
    assert found.shape == pytest.approx(1 / dispersion, rel=1e-4)
    assert found.mean_rate == pytest.approx(np.exp(log_mean), rel=1e-4)


def test_pumps_that_ran_little_are_drawn_most():
    found = shrink_rates(fit_rate_prior(FAILURES, HOURS), FAILURES, HOURS)
    raw = np.array(FAILURES) / HOURS
    # The seventh and eighth failed once in 1,048 hours; the fourth 14 times in 125,760.
    assert 0.7 < found.share[6] < 0.9 < raw[6]
    assert found.share[3] == pytest.approx(raw[3], rel=0.06)
