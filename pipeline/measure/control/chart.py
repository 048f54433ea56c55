"""What every chart gives back: a centre, and two limits for each point."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.measure.intervals import Floats


@dataclass(frozen=True, slots=True)
class Chart:
    """Points with their limits, in the points' own unit.

    Convention: a point on a limit is not beyond it. A lower limit below what the value can be is
    moved up to it, so that nothing is ever beyond it.
    """

    points: Floats
    centre: float
    low: Floats
    high: Floats

    @property
    def is_beyond(self) -> NDArray[np.bool_]:
        """True where a point lies outside its limits; a hair's breadth is left to rounding."""
        hair = 1e-9 * np.maximum(1.0, np.abs(self.points))
        return np.asarray((self.points > self.high + hair) | (self.points < self.low - hair))
