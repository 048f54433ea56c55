"""The gain against scipy's two distributions, and against plain sums of logarithms."""

from math import fsum, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special, stats

from pipeline.measure.beta_binomial import STIRLING_FROM, Tally, gain
from pipeline.measure.beta_binomial_fit import confirm_top, top

EVENTS = np.array([0.0, 2.0, 5.0, 40.0, 2.0])
TOTALS = np.array([7.0, 20.0, 90.0, 300.0, 20.0])
TALLY = Tally.of(EVENTS, TOTALS)

STEADY = settings(derandomize=True, deadline=None)
means = st.floats(0.001, 0.999)


@STEADY
@given(means, st.floats(1, 5000))
def test_gain_is_the_difference_of_both_log_likelihoods(mean: float, weight: float) -> None:
    one_share = stats.binom.logpmf(EVENTS, TOTALS, EVENTS.sum() / TOTALS.sum()).sum()
    mixed = stats.betabinom.logpmf(EVENTS, TOTALS, mean * weight, (1 - mean) * weight).sum()
    ours = gain(TALLY, special.logit(mean), np.log(weight))[0]
    assert ours == pytest.approx(mixed - one_share, abs=1e-8)


def by_sums_of_logs(mean: float, weight: float) -> float:
    """The gain as D. M. Smith sums it, Applied Statistics 32 (1983) 196-204: good at any weight."""
    pooled = EVENTS.sum() / TOTALS.sum()
    terms = []
    for x, n in zip(EVENTS.astype(int), TOTALS.astype(int), strict=True):
        terms += [log((mean + j / weight) / pooled) for j in range(x)]
        terms += [log((1 - mean + j / weight) / (1 - pooled)) for j in range(n - x)]
        terms += [-log(1 + j / weight) for j in range(n)]
    return fsum(terms)


@pytest.mark.parametrize("weight", [1, 99.9, 100.1, 1e3, 1e5, 1e7, 1e9])
def test_gain_keeps_its_digits_up_to_the_largest_weight(weight: float) -> None:
    mean = 0.11
    ours = gain(TALLY, special.logit(mean), np.log(weight))[0]
    assert ours == pytest.approx(by_sums_of_logs(mean, weight), rel=1e-9, abs=1e-10)


@STEADY
@given(means, st.floats(0.0, 15.0))
def test_slopes_are_those_of_the_gain(mean: float, log_weight: float) -> None:
    at, step = np.array([special.logit(mean), log_weight]), 1e-4
    numeric = [
        (gain(TALLY, *(at + ahead))[0] - gain(TALLY, *(at - ahead))[0]) / (2 * step)
        for ahead in ([step, 0], [0, step])
    ]
    assert gain(TALLY, *at)[1] == pytest.approx(numeric, rel=1e-5, abs=1e-5)


@pytest.mark.parametrize("count", [1.0, 50.0, 1e6])
def test_stirling_takes_over_without_a_step(count: float) -> None:
    tally = Tally.of(np.array([count]), np.array([2 * count]))
    below, above = (
        gain(tally, 0.0, float(np.log(2 * STIRLING_FROM * (1 + side)))) for side in (-1e-9, 1e-9)
    )
    assert below[0] == pytest.approx(above[0], rel=1e-8)
    assert below[1] == pytest.approx(above[1], rel=1e-7, abs=1e-9)


def test_the_top_is_a_top_and_a_point_beside_it_is_not() -> None:
    logit_mean, log_weight = top(TALLY)
    confirm_top(TALLY, logit_mean, log_weight)
    with pytest.raises(ArithmeticError, match="5 subjects"):
        confirm_top(TALLY, logit_mean + 0.1, log_weight)
    with pytest.raises(ArithmeticError, match="error of ours"):
        confirm_top(TALLY, logit_mean, log_weight + 0.5)
