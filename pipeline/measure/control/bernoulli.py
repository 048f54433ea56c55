"""CUSUM of a stream of cycles, each stopped or not, to tell that a unit stops more often.

An event adds, a cycle without one takes a little away, and the sum never falls below 0. Scaled so
that a cycle takes 1 away, an event adds a whole number less 1, and the sum can only be a whole
number: the Markov chain of its values is then exact, with no cells to cut. Shares are 0-1.

Source: M. R. Reynolds and Z. G. Stoumbos, Journal of Quality Technology 31 (1999) 87-108; S. H.
Steiner, R. J. Cook, V. T. Farewell and T. Treasure, Biostatistics 1 (2000) 441-452.
"""

from collections.abc import Sequence
from functools import cache

import numpy as np
from scipy import linalg

from pipeline.measure.intervals import Floats

LIMITS_AN_EVENT = 8
"""Limits that are tried between one event more and the next."""


def sums(events: Sequence[int], event_weight: float, other_weight: float) -> Floats:
    """The CUSUM after each cycle, from the log-likelihood weights of both outcomes."""
    out, level = np.empty(len(events)), 0.0
    for index, is_event in enumerate(events):
        level = max(0.0, level + (event_weight if is_event else other_weight))
        out[index] = level
    return out


def weights(share: float, worse_share: float) -> tuple[float, float]:
    """Log-likelihood ratio of an event and of none, for a worse share against the usual one."""
    return float(np.log(worse_share / share)), float(np.log((1 - worse_share) / (1 - share)))


def worth_of_event(share: float, odds_ratio: float) -> int:
    """Good cycles that an event outweighs, when the worse share has so many times the odds.

    The nearest whole number; the chart is then best against a share a little beside the worse one,
    and its run lengths stay exact.
    """
    assert 0 < share < 1 < odds_ratio, "a share that can get worse"
    return max(2, round(float(np.log(odds_ratio) / np.log1p((odds_ratio - 1) * share))))


@cache
def run_length(share: float, worth: int, limit: int) -> float:
    """Cycles from 0 until the sum is at the limit, on average, when events come with this share."""
    # The mean m(s) from the value s is 1 + share m(s + worth - 1) + (1 - share) m(s - 1), where
    # beyond the limit nothing is left to wait for.
    above = min(worth - 1, limit - 1)
    band = np.zeros((above + 2, limit))
    band[-2] = 1.0
    band[-1, :-1] = -(1 - share)
    band[-2, 0] -= 1 - share
    if worth - 1 < limit:
        band[0, worth - 1 :] -= share
    found = linalg.solve_banded((1, above), band, np.ones(limit), check_finite=False)
    return float(found[0])


@cache
def limit_for(share: float, worth: int, least_run_length: float) -> int:
    """Smallest limit tried that makes a false signal as rare as this, in cycles on average.

    Limits are tried in steps of an eighth of an event, upwards, so the signal is never less rare.
    """
    # Far beyond what is asked the chain hardly ever ends and its equations have no solution in
    # floating point, so the search comes from below, an event at a time.
    high = LIMITS_AN_EVENT
    while run_length(share, worth, _limit(worth, high)) < least_run_length:
        high += LIMITS_AN_EVENT
    low = max(1, high - LIMITS_AN_EVENT + 1)
    while low < high:
        middle = (low + high) // 2
        if run_length(share, worth, _limit(worth, middle)) < least_run_length:
            low = middle + 1
        else:
            high = middle
    return _limit(worth, low)


def _limit(worth: int, step: int) -> int:
    return max(2, int(np.ceil(worth * step / LIMITS_AN_EVENT)))
