import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from pipeline.measure.intervals import exact_interval
from pipeline.measure.shrinkage import Prior, fit_prior, shrink

STEADY = settings(derandomize=True, deadline=None)

record = st.integers(0, 3000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
networks = st.lists(record, min_size=1, max_size=30)

DIFFERENT = Prior(alpha=1.8, beta=58.2, mean_share=0.03, is_pooled=False)


@pytest.mark.parametrize("totals", [[], [0], [0, 0]])
def test_a_network_that_ran_nothing_has_no_prior(totals) -> None:
    assert fit_prior([0] * len(totals), totals) is None


@pytest.mark.parametrize(
    ("events", "totals"),
    [
        ([3], [20]),  # one subject: nobody to differ from
        ([0, 0, 0], [10, 500, 30]),  # no events
        ([10, 500, 30], [10, 500, 30]),  # nothing but events
        ([5, 5, 5, 5], [100, 100, 100, 100]),  # more alike than chance makes them
        ([1, 0, 1, 0, 0], [1, 1, 1, 1, 1]),  # one cycle each tells nothing of differences
        ([1, 0, 9], [20, 0, 180]),  # the same share at any size
    ],
)
def test_subjects_that_show_no_difference_are_pooled(events, totals) -> None:
    prior = fit_prior(events, totals)
    assert prior is not None
    assert prior.is_pooled
    assert prior.mean_share == sum(events) / sum(totals)
    likely = shrink(prior, events, totals)
    common = exact_interval(sum(events), sum(totals), 0.9)
    assert common is not None
    assert set(likely.share) == {prior.mean_share}
    assert set(likely.low) == {common.low}
    assert set(likely.high) == {common.high}


def test_no_events_at_all_still_leaves_an_upper_end() -> None:
    prior = fit_prior([0, 0], [10, 10])
    assert prior is not None
    assert shrink(prior, [0], [10]).high[0] > 0.1


def test_pooling_begins_where_chance_explains_the_spread() -> None:
    """Counts drawn from one share are pooled about half the time, from two shares never."""
    generator = np.random.default_rng(7)
    totals = np.full(40, 200)
    alike = [fit_prior(generator.binomial(200, 0.05, 40), totals) for _ in range(200)]
    assert 80 < sum(prior.is_pooled for prior in alike if prior) < 140
    shares = np.repeat([0.02, 0.15], 20)
    apart = [fit_prior(generator.binomial(200, shares), totals) for _ in range(50)]
    assert not any(prior.is_pooled for prior in apart if prior)


def test_the_prior_that_made_the_counts_is_found_again() -> None:
    generator = np.random.default_rng(11)
    totals = generator.integers(20, 4000, 30_000)
    events = generator.binomial(totals, generator.beta(1.8, 58.2, 30_000))
    prior = fit_prior(events, totals)
    assert prior is not None
    assert prior.mean_share == pytest.approx(0.03, rel=0.02)
    assert prior.alpha + prior.beta == pytest.approx(60, rel=0.05)


@pytest.mark.parametrize("cycles", [10**6, 10**9])
def test_very_many_cycles_neither_stop_the_fit_nor_pool_a_clear_difference(cycles: int) -> None:
    clear = fit_prior([cycles // 10, cycles // 5], [cycles, cycles])
    assert clear is not None
    assert not clear.is_pooled
    alike = fit_prior([cycles // 10] * 2, [cycles, cycles])
    assert alike is not None
    assert alike.is_pooled


@pytest.mark.parametrize("seed", [177, 521, 771, 1292, 1346, 1524])
def test_a_faint_difference_among_very_many_cycles_is_climbed_to_the_top(seed: int) -> None:
    """The gain is then a ridge; a climb in plain logits stops half-way for these, and raises."""
    generator = np.random.default_rng(seed)
    totals = generator.integers(1000, 700_000, 50)
    prior = fit_prior(generator.binomial(totals, 0.0957), totals)
    assert prior is not None
    assert not prior.is_pooled
    assert prior.alpha + prior.beta > 100_000


def test_all_or_nothing_leaves_a_prior_worth_one_cycle() -> None:
    prior = fit_prior([0, 5], [5, 5])
    assert prior is not None
    assert (prior.alpha, prior.beta) == pytest.approx((0.5, 0.5))
    # With less weight 0 of 5 would come out as a perfect unit.
    assert shrink(prior, [0], [5]).high[0] > 0.3


def test_three_of_twenty_is_less_telling_than_thirty_of_two_hundred() -> None:
    likely = shrink(DIFFERENT, [3, 30, 0, 1, 0], [20, 200, 15, 5, 0])
    assert likely.share == pytest.approx([4.8 / 80, 31.8 / 260, 1.8 / 75, 2.8 / 65, 0.03])
    posterior = stats.beta(31.8, 228.2)
    assert (likely.low[1], likely.high[1]) == pytest.approx(posterior.interval(0.9))


def test_a_prior_far_below_one_event_keeps_the_mean_inside_the_interval() -> None:
    likely = shrink(Prior(0.001, 0.999, 0.001, is_pooled=False), [0, 5], [5, 5])
    assert stats.beta(0.001, 5.999).ppf(0.95) < likely.share[0] == likely.high[0]
    assert likely.low[1] <= likely.share[1] <= likely.high[1]


@STEADY
@given(networks)
def test_likely_shares_lie_between_the_raw_share_and_the_mean(network) -> None:
    events, totals = np.array(network).T
    prior = fit_prior(events, totals)
    assume(prior is not None)
    likely = shrink(prior, events, totals)
    raw = np.where(totals > 0, events / np.maximum(totals, 1), prior.mean_share)
    slack = 1e-12
    if not prior.is_pooled:
        assert np.all(likely.share >= np.minimum(raw, prior.mean_share) - slack)
        assert np.all(likely.share <= np.maximum(raw, prior.mean_share) + slack)
    assert np.all((likely.low >= 0) & (likely.high <= 1))
    assert np.all((likely.low <= likely.share) & (likely.share <= likely.high))


@STEADY
@given(networks, st.randoms())
def test_the_order_of_the_subjects_changes_nothing(network, random) -> None:
    events, totals = np.array(network).T
    order = list(range(len(network)))
    random.shuffle(order)
    prior = fit_prior(events, totals)
    assert fit_prior(events[order], totals[order]) == prior
    assume(prior is not None)
    likely, shuffled = shrink(prior, events, totals), shrink(prior, events[order], totals[order])
    for column in ("share", "low", "high"):
        assert np.array_equal(getattr(shuffled, column), getattr(likely, column)[order])


@STEADY
@given(networks)
def test_counting_the_other_way_round_turns_the_prior_round(network) -> None:
    events, totals = np.array(network).T
    prior, turned = fit_prior(events, totals), fit_prior(totals - events, totals)
    assume(prior is not None)
    assert turned.is_pooled == prior.is_pooled
    assert turned.mean_share == pytest.approx(1 - prior.mean_share, abs=1e-4)
