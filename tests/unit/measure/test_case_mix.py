import numpy as np
import pytest
from scipy import stats

from pipeline.measure.case_mix import expected_counts, likely_ratios, ratio_bounds

#                  hollow  wrapped   hollow  wrapped
EVENTS = np.array([8.0,    1.0,      2.0,    9.0])  # fmt: skip
TOTALS = np.array([80.0,   100.0,    20.0,   900.0])  # fmt: skip
STRATUM, SITE = np.array([0, 1, 0, 1]), np.array([0, 0, 1, 1])


def test_a_site_of_hard_work_is_as_good_as_one_of_easy_work():
    """5 % and 1.2 % are stopped, yet each does each kind of work just as the network does it."""
    expected = expected_counts(EVENTS, TOTALS, STRATUM, SITE)

    assert expected == pytest.approx([80 * 0.1 + 100 * 0.01, 20 * 0.1 + 900 * 0.01])
    ratio, low, high = ratio_bounds(np.array([9.0, 11.0]), expected)
    assert ratio == pytest.approx([1, 1])
    assert np.all((low < 1) & (high > 1))


def test_what_is_expected_adds_up_to_what_was_seen():
    rng = np.random.default_rng(2)
    totals = rng.integers(0, 50, 90)
    events = rng.binomial(totals, 0.1)
    expected = expected_counts(events, totals, rng.integers(0, 7, 90), rng.integers(0, 12, 90))

    assert expected.sum() == pytest.approx(events.sum())


def test_the_ends_are_the_ratios_at_which_the_count_has_a_tail_of_one_in_forty():
    ratio, low, high = ratio_bounds(np.array([7.0, 0.0]), np.array([3.5, 2.0]))

    assert ratio.tolist() == [2, 0]
    assert stats.poisson.sf(6, 3.5 * low[0]) == pytest.approx(0.025)
    assert stats.poisson.cdf(7, 3.5 * high[0]) == pytest.approx(0.025)
    assert low[1] == 0
    assert np.exp(-2 * high[1]) == pytest.approx(0.025)


def test_nothing_expected_gives_no_ratio():
    assert np.isnan(ratio_bounds(np.array([0.0]), np.array([0.0]))).all()


def test_a_likely_ratio_lies_between_its_own_and_the_others():
    seen = np.array([0.0, 2.0, 30.0, 4.0, 60.0, 0.0])
    expected = np.array([0.5, 0.5, 20.0, 4.0, 71.5, 0.0])
    likely, low, high = likely_ratios(seen, expected)

    assert 0 < likely[0] < likely[1] < 4
    assert 1 < likely[2] < 1.5
    assert np.isnan([likely[5], low[5], high[5]]).all()
    assert np.all((low < likely)[:5] & (likely < high)[:5])


def test_where_nothing_was_expected_of_anyone_there_is_no_likely_ratio():
    assert np.isnan(likely_ratios(np.zeros(2), np.zeros(2))).all()
