"""Charts of measured values: individuals, EWMA and tabular CUSUM.

Units are those of the values. Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import signal

from pipeline.measure.control.chart import Chart
from pipeline.measure.intervals import Floats

MOVING_RANGE_D2, MOVING_RANGE_D4 = 1.128, 3.267
"""Mean range of two normal values in sigmas, and its upper limit over its mean.

Rounded as every table of d2 and D4 prints them, so that limits equal the printed ones; exactly they
are 2 / sqrt(pi) = 1.12838 and 1 + 3 sqrt(pi / 2 - 1) = 3.26653.
"""


def individuals_chart(values: ArrayLike) -> Chart:
    """Single values, sigma from the mean moving range of two over 1.128. NIST 6.3.2.2."""
    x = np.asarray(values, dtype=np.float64)
    assert x.size >= 2, "a moving range takes two values"
    centre, reach = float(x.mean()), 3 * moving_range_mean(x) / MOVING_RANGE_D2
    return Chart(x, centre, np.full(x.shape, centre - reach), np.full(x.shape, centre + reach))


def moving_range_mean(values: ArrayLike) -> float:
    """Mean distance of two neighbours in order of time."""
    return float(np.abs(np.diff(np.asarray(values, dtype=np.float64))).mean())


def moving_range_limit(values: ArrayLike) -> float:
    """Upper limit of the moving ranges: 3.267 times their mean. NIST 6.3.2.2."""
    return float(MOVING_RANGE_D4 * moving_range_mean(values))


def ewma(values: Floats, weight: float, start: float | Floats) -> Floats:
    """Exponentially weighted means along the last axis; the first is weight x value + rest x start.

    `start` is one number, or one for each row.
    """
    begun = (1 - weight) * np.broadcast_to(np.asarray(start, np.float64), values.shape[:-1])
    smoothed, _ = signal.lfilter([weight], [1, weight - 1], values, zi=begun[..., np.newaxis])
    return np.asarray(smoothed)


def ewma_chart(
    values: ArrayLike,
    *,
    target: float,
    sigma: float,
    weight: float = 0.2,
    sigmas: float = 3.0,
    is_steady: bool = True,
) -> Chart:
    """EWMA from the target. `is_steady` draws the limits of the long run at every point.

    Otherwise they open from the first point on, and are narrower there. NIST 6.3.2.4 uses the long
    run; which of the two a package draws differs.
    """
    x = np.asarray(values, dtype=np.float64)
    spread = np.full(x.shape, weight / (2 - weight))
    if not is_steady:
        spread *= 1 - (1 - weight) ** (2 * np.arange(1, x.size + 1))
    reach = sigmas * sigma * np.sqrt(spread)
    return Chart(ewma(x, weight, target), target, target - reach, target + reach)


@dataclass(frozen=True, slots=True)
class Cusum:
    """Both one-sided sums, each 0 or more, and the limit that neither should pass."""

    up: Floats
    down: Floats
    limit: float

    @property
    def is_beyond(self) -> NDArray[np.bool_]:
        """True where either sum is above the limit."""
        return np.maximum(self.up, self.down) > self.limit


def tabular_cusum(values: ArrayLike, *, target: float, allowance: float, limit: float) -> Cusum:
    """Sums of what goes beyond target + allowance, and below target - allowance.

    Target, allowance (k) and limit (h) are in the unit of the values, not in sigmas; both sums
    begin at 0 and are not set back by an alarm. NIST 6.3.2.3.
    """
    x = np.asarray(values, dtype=np.float64)
    up, down = np.zeros(x.shape), np.zeros(x.shape)
    high = low = 0.0
    for index, value in enumerate(x):
        high = max(0.0, high + value - target - allowance)
        low = max(0.0, low + target - allowance - value)
        up[index], down[index] = high, low
    return Cusum(up, down, limit)
