"""K. H. Hamed and A. R. Rao, Journal of Hydrology 204 (1998) 182-196, equations 8 to 10, worked in
plain loops. The paper prints no series in full; the one here is made for this project.
"""

import numpy as np
import pytest
from scipy import stats

from pipeline.measure.trend_many import autocorrelation_factor, slopes_of_rows

# A leak rate that wanders: each month leans on the one before.
LEAK = [0.45, 0.45, 0.48, 0.48, 0.46, 0.48, 0.52, 0.54, 0.50, 0.46, 0.46, 0.48, 0.43, 0.46, 0.45]
LEAK += [0.46, 0.47, 0.49, 0.53, 0.57, 0.56, 0.60, 0.57, 0.58]


def factor_by_the_paper(values) -> float:
    n = len(values)
    ranks = stats.rankdata(values)
    centred = ranks - ranks.mean()
    total = 0.0
    for lag in range(1, n - 2):
        likeness = sum(centred[i] * centred[i + lag] for i in range(n - lag)) / sum(centred**2)
        if abs(likeness) > 1.959964 / n**0.5:
            total += (n - lag) * (n - lag - 1) * (n - lag - 2) * likeness
    return 1 + 2 / (n * (n - 1) * (n - 2)) * total


def test_the_variance_is_multiplied_by_the_paper_s_factor():
    months = np.arange(24.0)
    found = slopes_of_rows(np.array([LEAK]), months[np.newaxis], np.array([24]))
    residuals = np.array(LEAK) - found.slope[0] * months

    factor = factor_by_the_paper(residuals)
    assert factor > 1.2
    assert autocorrelation_factor(residuals[np.newaxis])[0] == pytest.approx(factor)
    score = sum(np.sign(LEAK[b] - LEAK[a]) for a in range(24) for b in range(a + 1, 24))
    ties = np.unique(LEAK, return_counts=True)[1]
    variance = (24 * 23 * 53 - (ties * (ties - 1) * (2 * ties + 5)).sum()) / 18
    z = (score - 1) / (variance * factor) ** 0.5
    assert found.p[0] == pytest.approx(2 * stats.norm.sf(z))


def test_what_alternates_is_not_made_surer():
    values = np.array([[1.0, 9, 2, 8, 3, 9, 1, 8, 2, 9, 3, 8]])

    assert factor_by_the_paper(values[0]) < 1
    assert autocorrelation_factor(values)[0] == 1
