import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pipeline.measure.gamma_poisson import fit_rate_prior, shrink_rates
from pipeline.measure.poisson import garwood_interval


def test_the_gamma_that_rates_were_drawn_from_is_found_again():
    rng = np.random.default_rng(1)
    exposures = rng.uniform(50, 5000, 4000)
    events = rng.poisson(rng.gamma(2.0, 0.004, 4000) * exposures)
    found = fit_rate_prior(events, exposures)
    assert found.shape == pytest.approx(2.0, rel=0.06)
    assert found.mean_rate == pytest.approx(0.008, rel=0.03)


def test_nine_of_ten_intervals_hold_the_true_rate():
    rng = np.random.default_rng(2)
    exposures = rng.uniform(20, 2000, 3000)
    true = rng.gamma(1.2, 0.008, 3000)
    events = rng.poisson(true * exposures)
    likely = shrink_rates(fit_rate_prior(events, exposures), events, exposures)
    is_held = (likely.low <= true) & (true <= likely.high)
    assert is_held.mean() == pytest.approx(0.9, abs=0.015)
    raw, drawn = events / exposures - true, likely.share - true
    assert (drawn**2).mean() < 0.7 * (raw**2).mean()


@pytest.mark.parametrize(
    ("events", "exposures"),
    [([4], [200.0]), ([0, 0, 0], [10.0, 20.0, 30.0]), ([10, 20, 30], [100.0, 200.0, 300.0])],
)
def test_subjects_that_chance_explains_get_the_one_rate_of_all(events, exposures):
    prior = fit_rate_prior(events, exposures)
    likely = shrink_rates(prior, events, exposures)
    exact = garwood_interval(sum(events), 0.9)
    assert prior.is_pooled
    assert likely.share == pytest.approx(np.full(len(events), sum(events) / sum(exposures)))
    assert likely.low == pytest.approx(np.full(len(events), exact.low / sum(exposures)))
    assert likely.high == pytest.approx(np.full(len(events), exact.high / sum(exposures)))


def test_who_was_not_exposed_tells_nothing_and_gets_the_prior():
    events, exposures = [0, 9, 1, 30], [0.0, 100.0, 100.0, 100.0]
    prior = fit_rate_prior(events, exposures)
    assert prior == fit_rate_prior(events[1:], exposures[1:])
    assert shrink_rates(prior, events, exposures).share[0] == pytest.approx(prior.mean_rate)
    assert fit_rate_prior([0, 0], [0.0, 0.0]) is None


records = st.lists(st.tuples(st.integers(0, 200), st.floats(0.5, 1e5)), min_size=1, max_size=25)


@given(records, st.randoms(use_true_random=False))
def test_the_prior_does_not_depend_on_order_and_beats_one_rate_for_all(rows, random):
    events, exposures = np.array(rows).T
    prior = fit_rate_prior(events, exposures)
    assert prior == fit_rate_prior(*np.array(random.sample(rows, len(rows))).T)
    if not prior.is_pooled:
        share = prior.exposure / (prior.exposure + exposures)
        gained = stats.nbinom.logpmf(events, prior.shape, share).sum()
        pooled = stats.poisson.logpmf(events, events.sum() / exposures.sum() * exposures).sum()
        assert gained > pooled - 1e-6
    likely = shrink_rates(prior, events, exposures)
    assert np.all((likely.low <= likely.share) & (likely.share <= likely.high))
