"""Average run lengths of CUSUM and EWMA charts of normal values.

Source: the tables usual in textbooks of quality control, after J. M. Lucas and R. B. Crosier,
Technometrics 24 (1982) 199-205, and J. M. Lucas and M. S. Saccucci, Technometrics 32 (1990) 1-12
[the figures from memory]; Shewhart's from the normal distribution.
"""

import numpy as np
import pytest
from scipy import stats

from pipeline.measure.control.run_length import cusum_run_length, ewma_run_length


@pytest.mark.parametrize(
    ("limit", "shift", "run_length", "within"),
    [(4, 0, 168, 1), (4, 1, 8.38, 0.01), (5, 0, 465, 1), (5, 1, 10.4, 0.03)],
)
def test_cusum_with_allowance_of_half_a_sigma(limit, shift, run_length, within):
    assert cusum_run_length(0.5, limit, shift) == pytest.approx(run_length, abs=within)


@pytest.mark.parametrize(
    ("weight", "sigmas", "at_one_sigma"),
    [(0.05, 2.615, 11.4), (0.1, 2.814, 10.3), (0.2, 2.962, 10.5), (0.25, 2.998, 11.1),
     (0.4, 3.054, 14.3)],
)  # fmt: skip
def test_ewma_designed_for_500(weight, sigmas, at_one_sigma):
    assert ewma_run_length(weight, sigmas) == pytest.approx(500, abs=1)
    assert ewma_run_length(weight, sigmas, 1) == pytest.approx(at_one_sigma, abs=0.06)


@pytest.mark.parametrize(("shift", "run_length"), [(0, 370.4), (1, 43.89)])
def test_an_ewma_of_weight_one_is_shewhart_s_chart(shift, run_length):
    beyond = stats.norm.sf(3 - shift) + stats.norm.cdf(-3 - shift)
    assert 1 / beyond == pytest.approx(run_length, abs=0.05)
    assert ewma_run_length(1.0, 3.0, shift) == pytest.approx(1 / beyond)


def test_the_chain_says_what_a_plain_simulation_says():
    """Seeded; 4,000 charts, so that the mean is within 5 % of the truth with room to spare."""
    steps = np.random.default_rng(7).normal(1, 1, (4000, 120))
    up = np.zeros(4000)
    signal = np.zeros(4000)
    for number in range(120):
        up = np.maximum(0, up + steps[:, number] - 0.5)
        signal[(up > 5) & (signal == 0)] = number + 1
    assert (signal > 0).all()
    assert signal.mean() == pytest.approx(cusum_run_length(0.5, 5, 1), rel=0.05)
