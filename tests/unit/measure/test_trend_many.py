import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from pipeline.measure import trend_many
from pipeline.measure.trend import mann_kendall, theil_sen
from pipeline.measure.trend_many import autocorrelation_factor, slopes_of_rows

STEADY = settings(derandomize=True, deadline=None)


@STEADY
@given(
    arrays(np.float64, (5, 9), elements=st.integers(-9, 9)),
    arrays(np.float64, (5, 9), elements=st.integers(1, 3)),
    st.lists(st.integers(0, 9), min_size=5, max_size=5),
)
def test_every_row_gets_what_it_would_get_alone(y, steps, sizes):
    x = np.cumsum(steps, axis=1)
    found = slopes_of_rows(y, x, np.array(sizes))

    for row, size in enumerate(sizes):
        alone = theil_sen(y[row, :size], x[row, :size])
        ours = (found.slope[row], found.low[row], found.high[row], found.intercept[row])
        if alone is None:
            assert np.isnan(ours).all()
        else:
            expected = (alone.slope, alone.low, alone.high, alone.intercept)
            assert ours == pytest.approx(expected, abs=1e-12)


def test_points_of_one_x_have_no_slope_between_them():
    rng = np.random.default_rng(4)
    x = np.cumsum(rng.integers(0, 2, (60, 14)), axis=1).astype(float)
    y = rng.integers(0, 6, (60, 14)) + 0.2 * x
    found = slopes_of_rows(y, x, np.full(60, 14))

    for row in range(60):
        alone = theil_sen(y[row], x[row])
        expected = (alone.slope, alone.intercept)
        assert (found.slope[row], found.intercept[row]) == pytest.approx(expected)
        assert found.low[row] <= found.slope[row] <= found.high[row]


def test_ties_of_either_narrow_the_score_as_in_kendalls_tau_b():
    """With every lag's weight at 1 nothing is left but the variance, which scipy's p has inside."""
    x = np.repeat(np.arange(10.0), 3)[np.newaxis]
    y = np.round(np.random.default_rng(5).normal(0, 1, (1, 30)) + 0.1 * x)
    found = slopes_of_rows(y, x, np.array([30]))
    score = np.sign(np.subtract.outer(y[0], y[0]) * np.subtract.outer(x[0], x[0])).sum() / 2
    z_of_scipy = stats.norm.isf(stats.kendalltau(x, y, method="asymptotic").pvalue / 2)
    deviation = abs(score) / z_of_scipy
    factor = autocorrelation_factor(y - found.slope[:, np.newaxis] * x)

    z = (abs(score) - 1) / deviation / np.sqrt(factor)
    assert found.p == pytest.approx(2 * stats.norm.sf(z))


def test_a_row_of_one_x_has_no_slope():
    found = slopes_of_rows(np.arange(8.0).reshape(2, 4), np.ones((2, 4)), np.array([4, 4]))

    assert np.isnan([found.slope, found.low, found.high, found.intercept]).all()
    assert found.p == pytest.approx([1, 1])


def test_p_is_that_of_mann_kendall_when_neighbours_are_strangers():
    rng = np.random.default_rng(3)
    y = rng.normal(0, 1, (40, 20)) + 0.03 * np.arange(20)
    y[:20] = np.cumsum(y[:20], axis=1)
    found = slopes_of_rows(y, np.tile(np.arange(20.0), (40, 1)), np.full(40, 20))
    residuals = y - found.slope[:, np.newaxis] * np.arange(20)
    is_plain = autocorrelation_factor(residuals) == 1

    assert 10 < is_plain.sum() < 40
    for row in np.flatnonzero(is_plain):
        assert found.p[row] == pytest.approx(2 * stats.norm.sf(abs(mann_kendall(y[row]).z)))


def test_weeks_that_follow_each_other_make_a_trend_less_sure():
    """Seeded: of 400 series that lean on the week before and go nowhere, p < 5 % in far fewer."""
    rng = np.random.default_rng(11)
    y = rng.normal(0, 1, (400, 40))
    for week in range(1, 40):
        y[:, week] += 0.6 * y[:, week - 1]
    found = slopes_of_rows(y, np.tile(np.arange(40.0), (400, 1)), np.full(400, 40))
    plain = np.array([2 * stats.norm.sf(abs(mann_kendall(row).z)) for row in y])

    assert (plain < 0.05).mean() > 0.25
    assert (found.p < 0.05).mean() < 0.7 * (plain < 0.05).mean()


def test_a_level_row_has_no_trend():
    found = slopes_of_rows(np.full((1, 6), 7.0), np.arange(6.0)[np.newaxis], np.array([6]))

    assert (found.slope[0], found.low[0], found.high[0], found.p[0]) == (0, 0, 0, 1)


def test_only_what_is_tested_has_a_p_and_it_is_the_same():
    rng = np.random.default_rng(6)
    y, x = np.cumsum(rng.normal(size=(30, 20)), axis=1), np.tile(np.arange(20.0), (30, 1))
    sizes, is_tested = rng.integers(3, 21, 30), np.arange(30) % 3 == 0
    every, some = slopes_of_rows(y, x, sizes), slopes_of_rows(y, x, sizes, is_tested)

    assert some.p[is_tested].tobytes() == every.p[is_tested].tobytes()
    assert np.isnan(some.p[~is_tested]).all()
    assert some.low.tobytes() == every.low.tobytes()


def test_the_portions_do_not_change_a_bit(monkeypatch):
    rng = np.random.default_rng(5)
    y, x = rng.normal(size=(50, 26)), np.tile(np.arange(26.0), (50, 1))
    whole = slopes_of_rows(y, x, np.full(50, 26))
    monkeypatch.setattr(trend_many, "PAIRS_AT_ONCE", 700)
    parts = slopes_of_rows(y, x, np.full(50, 26))

    for name in ("slope", "low", "high", "intercept", "p"):
        assert getattr(whole, name).tobytes() == getattr(parts, name).tobytes()
