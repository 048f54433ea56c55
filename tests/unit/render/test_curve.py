"""The lines of a trace: as few points as show every sample, every peak and every pause."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pipeline.render.charts.curve import outline, runs, thinned

SPIKY = np.array(
    [(s, 134.0 + (3.0 if s == 1234 else -3.0 if s == 2345 else 0.0)) for s in range(5000)]
)


def test_a_line_that_is_straight_but_for_two_spikes_has_eight_points():
    """Both ends, and each spike with the samples beside it."""
    (kept,) = runs(SPIKY, 0.1)
    assert [s for s, _ in kept] == [0, 1233, 1234, 1235, 2344, 2345, 2346, 4999]


def test_an_outline_keeps_every_peak():
    whole = [(float(s), float(v)) for s, v in SPIKY]
    kept = outline(whole, 300)
    assert len(kept) <= 300
    assert (1234.0, 137.0) in kept and (2345.0, 131.0) in kept
    assert kept[0] == whole[0] and kept[-1] == whole[-1]


@given(
    st.lists(st.tuples(st.integers(0, 3), st.floats(0, 300)), min_size=2, max_size=80),
    st.floats(0.01, 20),
)
def test_no_sample_lies_further_from_the_thinned_line_than_was_allowed(steps, tolerance):
    """Some steps take no time: two samples of one instant are both on the line, or near it."""
    seconds = np.cumsum([pace for pace, _ in steps]).astype(float)
    samples = np.column_stack((seconds, [value for _, value in steps]))
    kept = thinned(samples, tolerance)
    assert set(kept) <= {(s, v) for s, v in samples.tolist()}
    assert kept[0] == tuple(samples[0]) and kept[-1] == tuple(samples[-1])
    values = [v for _, v in kept]
    assert (min(values), max(values)) == (samples[:, 1].min(), samples[:, 1].max())
    for second, value in samples.tolist():
        off = min(
            abs(value - level)
            for (s, v), (to, level_to) in zip(kept, kept[1:], strict=False)
            for level in _levels(s, v, to, level_to, second, value)
        )
        assert off <= tolerance * (1 + 1e-6) + 1e-9


def _levels(s, v, to, level_to, second, value) -> list[float]:
    """Where a piece of a line passes an instant: any height between its ends if it is upright."""
    if not s <= second <= to:
        return [float("inf")]
    if s == to:
        return [min(max(value, min(v, level_to)), max(v, level_to))]
    return [v + (level_to - v) * (second - s) / (to - s)]
