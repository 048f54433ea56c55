"""One probability from several signals: logistic regression, drawn towards a documented default.

The group's own past editions move the coefficients away from the default as far as they have the
evidence to; with no history the default stands. Nothing here knows what the signals are.

Source: A. E. Hoerl and R. W. Kennard, Technometrics 12 (1970) 55-67, for ridge; S. le Cessie and J.
C. van Houwelingen, Applied Statistics 41 (1992) 191-201, in logistic regression.
"""

import numpy as np
from numpy.typing import NDArray
from scipy import special

from pipeline.measure.intervals import Floats

STEPS = 50
CLOSE = 1e-10


def probability(coefficients: Floats, signals: Floats) -> Floats:
    """Of each row of signals; the first coefficient is the intercept."""
    return np.asarray(special.expit(coefficients[0] + signals @ coefficients[1:]))


def fitted(signals: Floats, outcomes: NDArray[np.bool_], default: Floats, ridge: float) -> Floats:
    """Coefficients of highest likelihood less ridge / 2 x squared distance from the default.

    By Newton's steps, halved while they lead down; the aim is concave, so there is one top. Without
    rows the default comes back. The order of the rows matters no more than by rounding, which the
    sum over sorted rows takes away.
    """
    order = np.lexsort((*signals.T, outcomes))
    rows = np.column_stack([np.ones(len(signals)), signals])[order]
    y = outcomes[order].astype(np.float64)
    at = np.array(default, np.float64)
    value = _aim(at, rows, y, default, ridge)
    for _ in range(STEPS):
        p = special.expit(rows @ at)
        slope = rows.T @ (y - p) - ridge * (at - default)
        bend = (rows * (p * (1 - p))[:, np.newaxis]).T @ rows + ridge * np.eye(len(at))
        step = np.linalg.solve(bend, slope)
        while (reached := _aim(at + step, rows, y, default, ridge)) < value - CLOSE:
            step /= 2
        at, value = at + step, reached
        if np.abs(step).max() < CLOSE:
            break
    return at


def _aim(at: Floats, rows: Floats, y: Floats, default: Floats, ridge: float) -> float:
    linear = rows @ at
    likelihood = y @ special.log_expit(linear) + (1 - y) @ special.log_expit(-linear)
    return float(likelihood - ridge / 2 * ((at - default) ** 2).sum())
