"""Charts of rare events: how many cycles (g) or how much time (t) lies between two of them.

Here a high point is good news, and the lower limit is usually 0: a run of events that come too
close is told by `bernoulli`, not by these charts.
"""

import numpy as np
from numpy.typing import ArrayLike

from pipeline.measure.control.chart import Chart
from pipeline.measure.control.values import individuals_chart
from pipeline.measure.intervals import Interval

TO_NORMAL = 0.2777
"""Power that makes exponential times nearly normal: 1 / 3.6. Source: Nelson 1994."""
TAIL = 0.00135
"""Of a normal distribution beyond three sigma, on one side."""


def g_chart(between: ArrayLike) -> Chart:
    """Good cycles between two events, from 0, with the three-sigma limits of the geometric.

    Sigma is the root of mean x (mean + 1). Source: J. C. Benneyan, Health Care Management Science 4
    (2001) 305-318.
    """
    counts = np.asarray(between, dtype=np.float64)
    mean = float(counts.mean())
    reach = 3 * np.sqrt(mean * (mean + 1))
    size = counts.shape
    return Chart(counts, mean, np.full(size, max(mean - reach, 0.0)), np.full(size, mean + reach))


def g_limits(between: ArrayLike, tail: float = TAIL) -> Interval:
    """The same with limits by probability: the smallest counts whose chance reaches each tail.

    The geometric counts good cycles before an event, from 0, with share 1 / (mean + 1). Three-sigma
    limits leave far more than one point in 741 above the upper one; these do not.
    """
    share = 1 / (float(np.asarray(between, dtype=np.float64).mean()) + 1)
    # P(at most k) is 1 - (1 - share) ** (k + 1); a hair keeps rounding from adding a step.
    ends = [np.log1p(-reached) / np.log1p(-share) - 1 for reached in (tail, 1 - tail)]
    low, high = (max(0.0, float(np.ceil(end - 1e-9))) for end in ends)
    return Interval(low, high)


def t_chart(between: ArrayLike) -> Chart:
    """Times between events as an individuals chart of time ** 0.2777; back by ** (1 / 0.2777).

    Source: L. S. Nelson, Journal of Quality Technology 26 (1994) 239-242.
    """
    times = np.asarray(between, dtype=np.float64)
    assert np.all(times > 0), "two events at once have no time between them"
    chart = individuals_chart(times**TO_NORMAL)
    return Chart(chart.points, chart.centre, np.maximum(chart.low, 0.0), chart.high)


def time_of(transformed: float) -> float:
    """The time that a point or limit of the t chart stands for."""
    return float(transformed ** (1 / TO_NORMAL))
