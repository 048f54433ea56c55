import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.physics import segments

VALUES = st.lists(st.floats(-50, 50), max_size=40)


@given(VALUES)
def test_the_middle_is_the_median(values):
    expected = np.median(values) if values else np.nan
    assert segments.middle(np.array(values)) == pytest.approx(expected, nan_ok=True)


@pytest.mark.parametrize("count", [1, 2, 3, 10, 57, 1000, 20_001])
def test_the_middle_of_many_is_the_median_too(count):
    values = np.random.default_rng(count).integers(0, 90, count) / 7
    for order in (values, np.sort(values), np.sort(values)[::-1].copy()):
        assert segments.middle(order) == np.median(values)


@given(st.lists(st.one_of(st.floats(-50, 50), st.just(np.nan)), max_size=20))
def test_what_is_not_a_number_has_no_part_in_middle_and_extremes(values):
    known = [value for value in values if not np.isnan(value)]
    column = np.array(values, dtype=float)
    middle = np.median(known) if known else np.nan
    assert segments.middle_of_known(column) == pytest.approx(middle, nan_ok=True)
    assert segments.lowest(column) == min(known, default=np.inf)
    assert segments.highest(column) == max(known, default=-np.inf)
    assert np.array_equal(column, values, equal_nan=True)


@given(VALUES, st.floats(-50, 50))
def test_the_first_and_the_last_on_either_side_of_a_level_are_found(values, level):
    column = np.array(values)
    below = [at for at, value in enumerate(values) if value <= level]
    above = [at for at, value in enumerate(values) if value >= level]
    assert segments.first_below(column, level) == (below[0] if below else -1)
    assert segments.last_below(column, level) == (below[-1] if below else -1)
    assert segments.first_above(column, level) == (above[0] if above else -1)
    assert segments.last_above(column, level) == (above[-1] if above else -1)


@given(VALUES, st.floats(-50, 50), st.floats(-50, 50))
def test_a_band_is_bounded_by_the_first_and_the_last_in_it(values, low, high):
    within = [at for at, value in enumerate(values) if low <= value <= high]
    bounds = (within[0], within[-1] + 1) if within else (len(values), 0)
    assert segments.bounds_within(np.array(values), low, high) == bounds


@pytest.mark.parametrize(("offsets", "most"), [([0], 0), ([0, 0], 0), ([0, 4, 4, 9, 12], 5)])
def test_the_longest_stretch_tells_how_much_room_each_needs(offsets, most):
    assert segments.longest(np.array(offsets)) == most


@given(st.lists(VALUES, max_size=6))
def test_each_stretch_has_its_own_highest_and_an_empty_one_none(stretches):
    offsets = np.cumsum([0, *(len(one) for one in stretches)])
    highest = segments.highest_of(offsets, np.array([value for one in stretches for value in one]))
    expected = [max(one, default=np.nan) for one in stretches]
    assert highest.tolist() == pytest.approx(expected, nan_ok=True)


def test_the_longest_step_is_that_between_two_that_follow_each_other():
    assert segments.longest_step(np.array([0.0, 5, 12, 14])) == 7
    assert segments.longest_step(np.array([3.0])) == -np.inf


@given(st.lists(st.integers(0, 3), max_size=20))
def test_offsets_mark_every_change_of_key(keys):
    offsets = segments.offsets_of(np.array(keys, dtype=np.int64))
    runs = [keys[a:b] for a, b in zip(offsets[:-1], offsets[1:], strict=True)]
    assert [key for run in runs for key in run] == keys
    assert all(len(set(run)) == 1 for run in runs)
    assert all(a[0] != b[0] for a, b in zip(runs, runs[1:], strict=False))
