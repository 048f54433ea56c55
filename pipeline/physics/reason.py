"""Why a figure of a cycle cannot be told. A cycle with a reason has not a number in that place."""

from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""One number a cycle, or one a sample; not a number where it cannot be told."""
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]
Codes = NDArray[np.uint8]


class Reason(IntEnum):
    """Kept as small whole numbers in arrays; the word for each is its name in small letters."""

    NONE = 0
    NO_SAMPLES = 1
    ONE_SAMPLE = 2
    TIME_DOUBTFUL = 3
    """An instant is unknown, goes back, or stands twice with different values."""
    CELSIUS_DOUBTFUL = 4
    """A temperature that counts is missing or cannot be true."""
    KPA_DOUBTFUL = 5
    GAP = 6
    """Samples are missing where they count."""
    CUT = 7
    """The trace begins or ends within the phase that is asked for."""
    NO_HOLD = 8
    """Never in the band, so what is measured in the hold does not exist."""
    UNIT_SLIP = 9
    """Pressure or temperature agrees with steam only in another unit of measure."""
    NOT_FOUND = 10
    """The phase does not show in the pressure."""
    NOT_LOGGED = 11
    """There are no readings, and the log has no value of its own."""
    NO_LIMIT = 12
    """Nobody has said what the program must reach."""


def first_reason(*reasons: Codes) -> Codes:
    """For each cycle the first of these that is a reason at all."""
    out = reasons[0].copy()
    for one in reasons[1:]:
        np.copyto(out, one, where=out == Reason.NONE)
    return out
