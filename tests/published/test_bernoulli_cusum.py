"""The Bernoulli CUSUM: weights of S. H. Steiner et al., Biostatistics 1 (2000) 441-452, on a short
sequence made for this project, and its exact run lengths against a solution in fractions and a
plain simulation. The papers' own tables could not be had.
"""

from fractions import Fraction

import numpy as np
import pytest

from pipeline.measure.control.bernoulli import (
    limit_for,
    run_length,
    sums,
    weights,
    worth_of_event,
)

STREAM = [0] * 10 + [1, 0, 0, 0, 1, 1] + [0] * 5 + [1, 0, 1]


def test_the_sum_of_log_likelihoods_passes_2_2_at_the_22nd_cycle():
    event, other = weights(0.05, 0.10)

    assert (event, other) == pytest.approx((0.69315, -0.05407), abs=5e-6)
    path = sums(STREAM, event, other)
    assert np.flatnonzero(path > 2.2)[0] + 1 == 22
    assert path[21] == pytest.approx(2.3401, abs=5e-5)
    assert path[-1] == pytest.approx(2.9791, abs=5e-5)


def run_length_in_fractions(share: Fraction, worth: int, limit: int) -> Fraction:
    """Gauss and Jordan on the chain's equations."""
    rows = []
    for value in range(limit):
        row = [Fraction(0)] * limit + [Fraction(1)]
        row[value] += 1
        row[max(value - 1, 0)] -= 1 - share
        if value + worth - 1 < limit:
            row[value + worth - 1] -= share
        rows.append(row)
    for pivot in range(limit):
        rows[pivot] = [entry / rows[pivot][pivot] for entry in rows[pivot]]
        for other in range(limit):
            if other != pivot and rows[other][pivot]:
                times = rows[other][pivot]
                rows[other] = [a - times * b for a, b in zip(rows[other], rows[pivot], strict=True)]
    return rows[0][-1]


@pytest.mark.parametrize(
    ("share", "worth", "limit"), [("1/20", 7, 15), ("1/50", 9, 9), ("1/4", 2, 6), ("1/10", 30, 5)]
)
def test_the_banded_solution_is_that_in_fractions(share, worth, limit):
    exact = run_length_in_fractions(Fraction(share), worth, limit)

    assert run_length(float(Fraction(share)), worth, limit) == pytest.approx(float(exact))


def test_a_limit_of_one_event_waits_for_one_event():
    """The mean of a geometric distribution; an event from 0 adds worth - 1."""
    assert run_length(0.02, 40, 39) == pytest.approx(50)


def test_streams_drawn_at_random_signal_as_seldom_as_the_chain_says():
    """Seeded; 3,000 streams, so that the mean is within 6 % of the truth with room to spare."""
    rng, share, worth, limit = np.random.default_rng(2), 0.04, 13, 30
    level, waited = np.zeros(3000), np.zeros(3000)
    for cycle in range(1, 20_000):
        is_event = rng.random(3000) < share
        level = np.maximum(0, level + np.where(is_event, worth - 1, -1))
        waited[(level >= limit) & (waited == 0)] = cycle
        if waited.all():
            break
    assert waited.all()
    assert waited.mean() == pytest.approx(run_length(share, worth, limit), rel=0.06)


@pytest.mark.parametrize("share", [0.002, 0.01, 0.05, 0.2])
@pytest.mark.parametrize("asked", [5000, 20_000, 3_000_000])
def test_the_limit_is_the_smallest_tried_that_is_rare_enough(share, asked):
    worth = worth_of_event(share, 4)
    limit = limit_for(share, worth, asked)

    assert run_length(share, worth, limit) >= asked
    assert run_length(share, worth, limit - int(np.ceil(worth / 8))) < asked


def test_an_event_is_worth_the_ratio_of_both_weights():
    share, ratio = 0.01, 4
    worse = ratio * share / (1 + (ratio - 1) * share)
    event, other = weights(share, worse)

    assert worth_of_event(share, ratio) - 1 == round(event / -other)
