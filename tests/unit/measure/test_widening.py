import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pipeline.measure.dispersion import is_outside, winsorised_scores
from pipeline.measure.widening import widening

SHARE = 0.3
# As many subjects at each of these volumes, so that neither way is favoured by their number.
VOLUMES = np.repeat([200, 800, 3200], 20)
LEVELS = np.tile(stats.norm.ppf((np.arange(20) + 0.5) / 20), 3)
"""One set of normal scores at each volume, without the luck of a draw."""


def events_of(scores: np.ndarray) -> np.ndarray:
    """Counts, not whole, whose scores against the share are these."""
    return VOLUMES * SHARE + scores * np.sqrt(VOLUMES * SHARE * (1 - SHARE))


def test_scores_too_large_by_the_same_at_every_volume_are_widened_by_one_factor():
    found = widening(events_of(2 * LEVELS), VOLUMES, SHARE)
    squares = winsorised_scores(events_of(2 * LEVELS), VOLUMES, SHARE) ** 2
    assert found.way == "multiplicative"
    assert found.factors(VOLUMES) == pytest.approx(np.full(60, squares.mean()))


def test_scores_that_grow_with_the_volume_are_widened_by_a_variance_of_true_shares():
    sigma = 0.03
    grown = np.sqrt(1 + sigma**2 * VOLUMES / SHARE / (1 - SHARE))
    found = widening(events_of(grown * LEVELS), VOLUMES, SHARE)
    assert found.way == "additive"
    # Winsorising takes some of the spread away, never adds to it.
    assert 0.6 * sigma < np.sqrt(found.variance) < sigma
    squares = winsorised_scores(events_of(grown * LEVELS), VOLUMES, SHARE) ** 2
    assert (squares / found.factors(VOLUMES)).mean() == pytest.approx(1, abs=1e-9)


def test_what_chance_explains_is_not_widened():
    found = widening(events_of(LEVELS), VOLUMES, SHARE)
    assert (found.way, found.dispersion, found.variance) == ("none", 1.0, 0.0)
    assert found.factors([0, 5, 5000]).tolist() == [1, 1, 1]


@pytest.mark.parametrize("factor", [1.6, 3.0])
def test_at_one_volume_both_ways_are_the_same_and_the_plain_one_is_named(factor):
    total = np.full(20, 500)
    scores = factor * LEVELS[:20]
    events = total * SHARE + scores * np.sqrt(total * SHARE * (1 - SHARE))
    assert widening(events, total, SHARE).way == "multiplicative"


@pytest.mark.parametrize("volume", [200, 3200])
@pytest.mark.parametrize("spread", [1.0, 2.0, "growing"])
def test_a_truly_bad_unit_is_outside_afterwards(volume, spread):
    grown = np.sqrt(1 + 0.03**2 * VOLUMES / SHARE / (1 - SHARE))
    events = np.round(events_of((grown if spread == "growing" else spread) * LEVELS))
    events = np.append(np.maximum(events, 0), round(0.6 * volume))
    totals = np.append(VOLUMES, volume)
    share = events.sum() / totals.sum()
    outside = is_outside(events, totals, share, widening(events, totals, share).factors(totals))
    assert outside[-1]
    assert outside.sum() <= 2


@pytest.mark.parametrize(("events", "totals", "share"), [([], [], 0.5), ([0, 0], [9, 9], 0.0)])
def test_where_nothing_can_be_scored_nothing_is_widened(events, totals, share):
    assert widening(events, totals, share).way == "none"


@given(
    st.lists(st.tuples(st.integers(0, 400), st.integers(1, 4000)), min_size=2, max_size=30).map(
        lambda rows: [(min(x, n), n) for x, n in rows]
    ),
    st.randoms(use_true_random=False),
)
def test_limits_are_never_narrower_than_chance_and_do_not_depend_on_order(rows, random):
    events, totals = np.array(rows).T
    share = events.sum() / totals.sum()
    found = widening(events, totals, share)
    assert (found.factors(totals) >= 1).all()
    shuffled = random.sample(rows, len(rows))
    again = widening(*np.array(shuffled).T, share)
    assert again.way == found.way
    assert again.factors(totals) == pytest.approx(found.factors(totals), rel=1e-9)
