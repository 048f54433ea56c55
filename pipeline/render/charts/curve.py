"""The samples of a log as lines: broken where the log pauses, with no more points than are seen."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from pipeline.physics.compiled import column
from pipeline.physics.reason import Floats
from pipeline.physics.turns import turns_of

Run = tuple[Floats, Floats]
"""Seconds and values of a line that is drawn without a break."""


def runs(seconds: Floats, values: Floats, tolerance: float) -> list[Run]:
    """The lines between pauses of the log, which no sample lies further from than `tolerance`.

    What is not a number was not logged; of fewer than two samples there is no line.
    """
    is_known = ~np.isnan(values)
    seconds, values = column(seconds[is_known]), column(values[is_known])
    is_turn, is_end = turns_of(seconds, values, tolerance)
    seconds, values = seconds[is_turn], values[is_turn]
    ends = (np.flatnonzero(is_end[is_turn]) + 1).tolist()
    return [
        (seconds[begin:end], values[begin:end])
        for begin, end in pairwise([0, *ends])
        if end - begin > 1
    ]


def outline(run: Run, most: int) -> Run:
    """At most so many samples that keep every peak: the least and greatest of each stretch."""
    seconds, values = run
    if len(values) <= most:
        return run
    stretch = -(-len(values) // (most // 2 - 1))
    places = sorted({0, len(values) - 1, *_peaks(values, stretch)})
    return seconds[places], values[places]


def _peaks(values: Floats, stretch: int) -> Iterator[int]:
    for begin in range(0, len(values), stretch):
        part = values[begin : begin + stretch]
        yield begin + int(part.argmin())
        yield begin + int(part.argmax())
