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


def test_the_portions_do_not_change_a_bit(monkeypatch):
    rng = np.random.default_rng(5)
    y, x = rng.normal(size=(50, 26)), np.tile(np.arange(26.0), (50, 1))
    whole = slopes_of_rows(y, x, np.full(50, 26))
    monkeypatch.setattr(trend_many, "PAIRS_AT_ONCE", 700)
    parts = slopes_of_rows(y, x, np.full(50, 26))

    for name in ("slope", "low", "high", "intercept", "p"):
        assert getattr(whole, name).tobytes() == getattr(parts, name).tobytes()
