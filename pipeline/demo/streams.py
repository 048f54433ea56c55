"""Random numbers of the simulator: one stream for each thing that draws, by name.

A stream depends on the seed and its own key alone. So a network of 25 sites holds the 24 sites of
the smaller one, number for number.
"""

from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Draws(IntEnum):
    """What a stream is for; the first part of its key."""

    WEATHER = 0
    CALENDAR = 1
    HABIT = 2
    MACHINE = 3
    USE = 4
    FATE = 5
    UPKEEP = 6
    SPORE = 7
    EXPORT = 8
    TRACE = 9


def stream(seed: int, draws: Draws, *key: int) -> np.random.Generator:
    """The stream of this key: what SeedSequence.spawn would give, without counting up to it."""
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(int(draws), *key)))
