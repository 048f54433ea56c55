import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pipeline.measure.widening import is_outside, widened, widening, winsorised_scores

SHARE = 0.3
# As many subjects at each of these volumes, so that neither way is favoured by their number.
VOLUMES = np.repeat([200, 800, 3200], 20)
LEVELS = np.tile(stats.norm.ppf((np.arange(20) + 0.5) / 20), 3)
"""One set of normal scores at each volume, without the luck of a draw."""

# Twelve made-up units; the ninth stops 20 of 170 where all together stop 102 of 1,635.
EVENTS = [3, 9, 4, 12, 7, 2, 15, 6, 20, 5, 8, 11]
TOTALS = [80, 150, 120, 160, 140, 60, 180, 130, 170, 90, 200, 155]


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


def plain_scores(events, totals):
    share = sum(events) / sum(totals)
    return [
        (x / n - share) / (share * (1 - share) / n) ** 0.5
        for x, n in zip(events, totals, strict=True)
    ]


def test_one_unit_out_of_line_does_not_widen_the_limits_until_it_hides():
    """Without winsorising the mean square is 1.421: the one unit alone would have made it so."""
    assert np.mean(np.square(plain_scores(EVENTS, TOTALS))) == pytest.approx(1.42108, abs=5e-6)
    assert widening(EVENTS, TOTALS, sum(EVENTS) / sum(TOTALS)).way == "none"


def test_units_that_all_differ_widen_the_limits():
    events, totals = [1, 30, 2, 28, 0, 35, 3, 25, 1, 33], [200] * 10
    z = sorted(plain_scores(events, totals))
    # Tenth and ninetieth percentile of ten values by linear interpolation lie at 0.9 and 8.1.
    low, high = z[0] + 0.9 * (z[1] - z[0]), z[8] + 0.1 * (z[9] - z[8])
    expected = sum(min(max(one, low), high) ** 2 for one in z) / 10

    assert expected > 10
    found = widening(events, totals, sum(events) / sum(totals))
    assert found.dispersion == pytest.approx(expected, rel=1e-12)


def test_subjects_that_ran_nothing_are_left_out():
    found = widening(events_of(2 * LEVELS), VOLUMES, SHARE)
    assert widening(np.append(events_of(2 * LEVELS), 0), np.append(VOLUMES, 0), SHARE) == found


def test_without_dispersion_the_outer_limit_is_the_exact_one_in_a_thousand():
    events, totals = np.arange(10, 41), np.full(31, 200)

    outside = is_outside(events, totals, 0.06, 1.0)

    assert outside.tolist() == (stats.binom.sf(events - 1, 200, 0.06) <= 0.001).tolist()
    assert (outside.any(), outside.all()) == (True, False)


def test_a_count_on_the_limit_is_inside_at_every_volume():
    totals = np.arange(100, 3000)
    on_limit = stats.binom.isf(0.001, totals, 0.024)

    assert not is_outside(on_limit, totals, 0.024, 1.0).any()
    assert is_outside(on_limit + 1, totals, 0.024, 1.0).all()


def test_the_limit_moves_away_from_the_share_by_the_square_root_of_the_dispersion():
    events, totals = np.arange(10, 60), np.full(50, 200)
    usual = stats.binom.isf(0.001, 200, 0.06)

    assert events[is_outside(events, totals, 0.06, 4.0)].min() == 12 + 2 * (usual - 12) + 1
    assert widened(np.array([0.01, 0.3, 0.9]), 0.2, 4.0) == pytest.approx([0.0, 0.4, 1.0])


def test_who_ran_nothing_is_never_outside():
    assert is_outside([0], [0], 0.06, 1.0).tolist() == [False]
