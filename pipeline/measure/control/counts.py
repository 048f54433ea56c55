"""Charts of counts: shares (p, Laney's p'), counts of one size (c), counts by exposure (u).

Three-sigma limits from the chart's own centre. They are the usual lines for the eye; where a
verdict hangs on a small count, the exact tails of `tails` are asked instead.
Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1 and 6.3.3.2.
"""

import numpy as np
from numpy.typing import ArrayLike

from pipeline.measure.control.chart import Chart
from pipeline.measure.control.values import MOVING_RANGE_D2
from pipeline.measure.intervals import Floats, counts

SIGMAS = 3.0


def p_chart(events: ArrayLike, totals: ArrayLike) -> Chart:
    """Shares with limits by each point's own total; every total is above 0.

    The centre is all events of all totals, not the mean of the shares.
    """
    x, n = counts(events, totals)
    centre, sigma = _share_and_sigma(x, n)
    return _chart(x / n, centre, SIGMAS * sigma, top=1.0)


def laney_chart(events: ArrayLike, totals: ArrayLike) -> Chart:
    """Laney's p': the p chart's limits times how much more the points move than chance makes them.

    The factor is the mean moving range of the scores over 1.128. Convention: a factor below 1
    narrows the limits, as in Laney's paper; some packages stop at 1.
    Source: D. B. Laney, Quality Engineering 14 (2002) 531-537.
    """
    x, n = counts(events, totals)
    centre, sigma = _share_and_sigma(x, n)
    return _chart(x / n, centre, SIGMAS * sigma * laney_factor(x, n), top=1.0)


def laney_factor(events: ArrayLike, totals: ArrayLike) -> float:
    """Mean moving range of two neighbouring scores, over 1.128; 1 is what chance makes."""
    x, n = counts(events, totals)
    centre, sigma = _share_and_sigma(x, n)
    scores = (x / n - centre) / sigma
    return float(np.abs(np.diff(scores)).mean() / MOVING_RANGE_D2)


def c_chart(events: ArrayLike) -> Chart:
    """Counts of equal stretches: centre the mean, sigma its root."""
    x = np.asarray(events, dtype=np.float64)
    return _chart(x, float(x.mean()), np.full(x.shape, SIGMAS * np.sqrt(x.mean())), top=np.inf)


def u_chart(events: ArrayLike, exposures: ArrayLike) -> Chart:
    """Counts per exposure, which is above 0 and in whatever unit it is given."""
    x, size = np.asarray(events, dtype=np.float64), np.asarray(exposures, dtype=np.float64)
    centre = float(x.sum() / size.sum())
    return _chart(x / size, centre, SIGMAS * np.sqrt(centre / size), top=np.inf)


def _share_and_sigma(x: Floats, n: Floats) -> tuple[float, Floats]:
    assert np.all(n > 0), "a share is of something: leave out what ran nothing"
    share = float(x.sum() / n.sum())
    return share, np.sqrt(share * (1 - share) / n)


def _chart(points: Floats, centre: float, reach: Floats, top: float) -> Chart:
    return Chart(points, centre, np.maximum(centre - reach, 0.0), np.minimum(centre + reach, top))
