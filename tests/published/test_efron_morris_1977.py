"""B. Efron and C. Morris, Scientific American 236 (5) (1977) 119-127: eighteen batters, their first
45 times at bat and the rest of the season. The article shrinks by its own formula; our shrinkage
is held against the same truth, and against the James-Stein figures worked out with it.
"""

import numpy as np
import pytest

from pipeline.measure.shrinkage import fit_prior, shrink

FIRST = [0.400, 0.378, 0.356, 0.333, 0.311, 0.311, 0.289, 0.267, 0.244, 0.244, 0.222, 0.222, 0.222]
FIRST += [0.222, 0.222, 0.200, 0.178, 0.156]
REST = [0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269, 0.230, 0.264, 0.256, 0.303]
REST += [0.264, 0.226, 0.285, 0.316, 0.200]
HITS = np.round(np.array(FIRST) * 45)


def squared_error(said) -> float:
    return float(((np.array(said) - np.array(REST)) ** 2).sum())


def james_stein() -> tuple[float, np.ndarray]:
    first = np.array(FIRST)
    mean = first.mean()
    chance = mean * (1 - mean) / 45
    factor = 1 - (len(first) - 3) * chance / ((first - mean) ** 2).sum()
    return factor, mean + factor * (first - mean)


def test_the_article_s_own_figures():
    factor, said = james_stein()

    assert np.mean(FIRST) == pytest.approx(0.2654, abs=5e-5)
    assert factor == pytest.approx(0.212, abs=0.001)
    assert squared_error(FIRST) == pytest.approx(0.0754, abs=1e-4)
    assert squared_error(said) == pytest.approx(0.0213, abs=1e-4)
    assert (said[0], said[-1]) == pytest.approx((0.294, 0.242), abs=1e-3)


def test_shrinkage_foretells_the_season_three_times_as_well_as_the_raw_share():
    prior = fit_prior(HITS, np.full(18, 45))
    said = shrink(prior, HITS, np.full(18, 45)).share

    assert squared_error(said) < squared_error(FIRST) / 3
    assert squared_error(said) == pytest.approx(squared_error(james_stein()[1]), rel=0.1)
