"""Lines through a log: as few samples as show every sample, every peak and every pause."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pipeline.physics.compiled import column
from pipeline.physics.turns import turns_of


def turns(seconds, values, tolerance: float) -> tuple[list[int], list[int]]:
    """The places at which lines turn, and those at which one ends."""
    found = turns_of(column(seconds), column(values), tolerance)
    return tuple(np.flatnonzero(each).tolist() for each in found)


def test_a_line_that_is_straight_but_for_two_spikes_turns_eight_times():
    """At both ends, and at each spike and the samples beside it."""
    values = np.full(5000, 134.0)
    values[[1234, 2345]] = 137.0, 131.0
    kept, ends = turns(np.arange(5000), values, 0.1)
    assert kept == [0, 1233, 1234, 1235, 2344, 2345, 2346, 4999]
    assert ends == [4999]


@pytest.mark.parametrize(("pause", "ends"), [(50, [4]), (51, [2, 4])])
def test_a_step_of_more_than_five_usual_ones_is_a_pause(pause, ends):
    """Both samples beside the pause are kept, although all five are on one line."""
    seconds = np.array([0, 10, 20, 20 + pause, 30 + pause])
    assert turns(seconds, seconds, 0.1) == (sorted({0, 4, *ends, *[one + 1 for one in ends[:-1]]}),
                                            ends)  # fmt: skip


@pytest.mark.parametrize(
    ("seconds", "found"),
    [
        ([], ([], [])),
        ([7], ([0], [0])),
        ([7, 7], ([0, 1], [1])),
        ([7, 7, 7, 99], ([0, 1, 2, 3], [3])),
    ],
)
def test_what_has_no_usual_step_has_no_pause(seconds, found):
    """Where most samples share an instant the middle step is none, and nothing is five times it.

    The line turns at every sample that shares its instant with another.
    """
    assert turns(seconds, seconds, 0.1) == found


@given(
    st.lists(st.tuples(st.integers(0, 3), st.floats(0, 300)), min_size=2, max_size=80),
    st.floats(0.01, 20),
)
@example([(1, 0.0), (1, 5.0), (0, 9.0), (1, 5.0), (1, 0.0)], 1.0)
def test_no_sample_lies_further_from_its_line_than_was_allowed(steps, tolerance):
    """Some steps take no time: two samples of one instant are both on the line, or near it."""
    seconds = np.cumsum([pace for pace, _ in steps]).astype(float)
    values = np.array([value for _, value in steps])
    kept, ends = turns(seconds, values, tolerance)
    begins = [0, *(end + 1 for end in ends[:-1])]
    for begin, end in zip(begins, ends, strict=True):
        line = [place for place in kept if begin <= place <= end]
        assert (line[0], line[-1]) == (begin, end)
        of_line = values[begin : end + 1]
        shown = values[line]
        assert (shown.min(), shown.max()) == (of_line.min(), of_line.max())
        for place in range(begin, end + 1):
            assert _off(seconds, values, line, place) <= tolerance * (1 + 1e-6) + 1e-9


def _off(seconds, values, line: list[int], place: int) -> float:
    """How far a sample lies from the pieces of a line that pass its instant."""
    pieces = zip(line, line[1:], strict=False) if len(line) > 1 else [(line[0], line[0])]
    return min(
        abs(values[place] - _level(seconds, values, one, other, place))
        for one, other in pieces
        if seconds[one] <= seconds[place] <= seconds[other]
    )


def _level(seconds, values, one: int, other: int, place: int) -> float:
    """Where a piece passes the instant of a sample; an upright one as near as its ends let it."""
    if seconds[one] == seconds[other]:
        return float(np.clip(values[place], *sorted((values[one], values[other]))))
    return float(np.interp(seconds[place], seconds[[one, other]], values[[one, other]]))
