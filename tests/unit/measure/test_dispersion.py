import numpy as np
import pytest
from scipy import stats

from pipeline.measure.dispersion import (
    additive_scores,
    between_variance,
    dispersion,
    is_outside,
    widened,
)

# Twelve made-up units; the ninth stops 20 of 170 where all together stop 102 of 1,635.
EVENTS = [3, 9, 4, 12, 7, 2, 15, 6, 20, 5, 8, 11]
TOTALS = [80, 150, 120, 160, 140, 60, 180, 130, 170, 90, 200, 155]
SHARE = sum(EVENTS) / sum(TOTALS)


def scores(events, totals, share):
    return [
        (x / n - share) / (share * (1 - share) / n) ** 0.5
        for x, n in zip(events, totals, strict=True)
    ]


def test_one_unit_out_of_line_does_not_widen_the_limits_until_it_hides():
    """Without winsorising the mean square is 1.421: the one unit alone would have made it so."""
    plain = np.mean(np.square(scores(EVENTS, TOTALS, SHARE)))

    assert plain == pytest.approx(1.42108, abs=5e-6)
    assert dispersion(EVENTS, TOTALS, SHARE) == 1.0


def test_the_variance_between_units_is_that_of_the_moments():
    """Worked out apart from this project; the ninth unit goes from 2.979 to 2.290."""
    assert between_variance(EVENTS, TOTALS, SHARE) == pytest.approx(0.00023815, abs=5e-9)
    assert scores(EVENTS, TOTALS, SHARE)[8] == pytest.approx(2.979, abs=5e-4)
    assert additive_scores(EVENTS, TOTALS, SHARE)[8] == pytest.approx(2.290, abs=5e-4)
    assert scores(EVENTS, TOTALS, SHARE)[8] / 1.42108**0.5 == pytest.approx(2.499, abs=5e-4)


@pytest.mark.parametrize(
    ("events", "totals", "share"), [([], [], 0.5), ([3], [9], 0.3), ([5, 5], [50, 50], 0.1)]
)
def test_units_no_more_different_than_chance_have_no_variance_between(events, totals, share):
    assert between_variance(events, totals, share) == 0.0


def test_units_that_all_differ_widen_the_limits():
    events, totals = [1, 30, 2, 28, 0, 35, 3, 25, 1, 33], [200] * 10
    share = sum(events) / sum(totals)
    z = sorted(scores(events, totals, share))
    # Tenth and ninetieth percentile of ten values by linear interpolation lie at 0.9 and 8.1.
    low, high = z[0] + 0.9 * (z[1] - z[0]), z[8] + 0.1 * (z[9] - z[8])
    expected = sum(min(max(one, low), high) ** 2 for one in z) / 10

    assert expected > 10
    assert dispersion(events, totals, share) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("events", "totals", "share"), [([], [], 0.5), ([0, 0], [9, 9], 0.0)])
def test_where_nothing_can_be_scored_chance_is_assumed(events, totals, share):
    assert dispersion(events, totals, share) == 1.0


def test_subjects_that_ran_nothing_are_left_out():
    assert dispersion([*EVENTS, 0], [*TOTALS, 0], SHARE) == dispersion(EVENTS, TOTALS, SHARE)


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
