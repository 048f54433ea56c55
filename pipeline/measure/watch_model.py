"""One probability from several signals: logistic regression, drawn towards a documented default.

The group's own past editions move the coefficients away from the default as far as they have the
evidence to; with no history the default stands. Nothing here knows what the signals are.

Source: A. E. Hoerl and R. W. Kennard, Technometrics 12 (1970) 55-67, for ridge; S. le Cessie and J.
C. van Houwelingen, Applied Statistics 41 (1992) 191-201, in logistic regression.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

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

    Without rows the default comes back. The order of the rows matters no more than by rounding,
    which the sum over sorted rows takes away.
    """
    return climbed(in_order(signals, outcomes), default, ridge, default)


@dataclass(frozen=True, slots=True)
class History:
    """Rows of signals, a 1 before each for the intercept, and 1 for a failure, -1 for none."""

    rows: Floats
    signs: Floats

    @classmethod
    def joined(cls, parts: Sequence[Self]) -> Self:
        """Several one after another."""
        return cls(
            np.concatenate([one.rows for one in parts]),
            np.concatenate([one.signs for one in parts]),
        )

    def after(self, first: int) -> Self:
        """Without the first rows."""
        return type(self)(self.rows[first:], self.signs[first:])


def in_order(signals: Floats, outcomes: NDArray[np.bool_]) -> History:
    """The history that rows of signals and their outcomes make, whatever order they came in."""
    order = np.lexsort((*signals.T, outcomes))
    rows = np.column_stack([np.ones(len(signals)), signals])[order]
    return History(rows, np.where(outcomes[order], 1.0, -1.0))


def climbed(history: History, default: Floats, ridge: float, start: Floats) -> Floats:
    """The coefficients of `fitted`, looked for from a place near to them.

    By Newton's steps, halved while they lead down; the aim is concave, so there is one top.
    """

    def aim(at: Floats) -> tuple[float, Floats]:
        odds = history.signs * (history.rows @ at)
        return float(special.log_expit(odds).sum() - ridge / 2 * ((at - default) ** 2).sum()), odds

    at = np.array(start, np.float64)
    value, odds = aim(at)
    for _ in range(STEPS):
        missed = special.expit(-odds)
        slope = history.rows.T @ (history.signs * missed) - ridge * (at - default)
        weighted = history.rows * (missed * (1 - missed))[:, np.newaxis]
        bend = weighted.T @ history.rows + ridge * np.eye(len(at))
        step = np.linalg.solve(bend, slope)
        while (reached := aim(at + step))[0] < value - CLOSE:
            step /= 2
        at, (value, odds) = at + step, reached
        if np.abs(step).max() < CLOSE:
            break
    return at
