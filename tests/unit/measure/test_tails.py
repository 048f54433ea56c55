from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pipeline.measure.tails import funnel_limit, p_at_least, upper_limit

STEADY = settings(derandomize=True, deadline=None)

shares = st.floats(0.0005, 0.9)
totals = st.integers(1, 400)
tails = st.sampled_from([0.001, 0.0027, 0.025, 0.1])


def test_the_tail_counts_the_event_itself() -> None:
    by_hand = sum(comb(20, k) * 0.05**k * 0.95 ** (20 - k) for k in range(3, 21))
    assert float(p_at_least(3, 20, 0.05)) == pytest.approx(by_hand)
    assert float(p_at_least(12, 240, 0.03)) == pytest.approx(0.0600, abs=0.00005)


@pytest.mark.parametrize(
    ("events", "total", "share", "expected"),
    [
        (0, 20, 0.05, 1.0),  # nothing is always reached
        (0, 0, 0.05, 1.0),
        (20, 20, 0.5, 0.5**20),
        (1, 20, 0.0, 0.0),  # what never happens has happened
        (20, 20, 1.0, 1.0),
    ],
)
def test_tails_at_the_ends(events, total, share, expected) -> None:
    assert float(p_at_least(events, total, share)) == pytest.approx(expected)


def test_arrays_and_numbers_mix() -> None:
    found = p_at_least(np.array([0, 3, 40]), 200, np.array([0.05, 0.05, 0.1]))
    assert found == pytest.approx(stats.binom.sf([-1, 2, 39], 200, [0.05, 0.05, 0.1]))


@STEADY
@given(totals, shares, tails)
def test_above_the_upper_limit_is_exactly_what_the_tail_calls_rare(total, share, p) -> None:
    limit = float(upper_limit(total, share, p))
    events = np.arange(total + 1)
    assert np.array_equal(events / total > limit, p_at_least(events, total, share) <= p)


@STEADY
@given(totals, shares, st.sampled_from([0.001, 0.025, 0.5, 0.975, 0.999]))
def test_the_interpolated_distribution_reaches_p_at_the_funnel_limit(total, share, p) -> None:
    limit = float(funnel_limit(total, share, p))
    assert 0 <= limit <= 1
    if limit > 0:
        steps = np.arange(-1, total + 1)
        reached = np.interp(limit * total, steps, stats.binom.cdf(steps, total, share))
        assert reached == pytest.approx(p, abs=1e-9)


@STEADY
@given(totals, shares)
def test_the_lines_of_a_funnel_do_not_cross(total, share) -> None:
    lines = funnel_limit(total, share, np.array([0.001, 0.025, 0.975, 0.999]))
    assert np.all(np.diff(lines) >= 0)


def test_no_cycles_have_no_limit() -> None:
    assert np.isnan(upper_limit(0, 0.05, 0.01))
    assert np.isnan(funnel_limit([0, 20], 0.05, 0.975)).tolist() == [True, False]


def test_a_share_of_nothing_and_of_all_have_limits_too() -> None:
    assert float(upper_limit(20, 0.0, 0.01)) == 0.0
    assert float(upper_limit(20, 1.0, 0.01)) == 1.0
    assert float(funnel_limit(20, 0.0, 0.999)) == 0.0
