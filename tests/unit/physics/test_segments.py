import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.physics import segments

STRETCHES = st.lists(st.lists(st.floats(-50, 50), max_size=6), max_size=8)


def laid_out(stretches):
    offsets = np.concatenate([[0], np.cumsum([len(one) for one in stretches], dtype=np.int64)])
    return np.array([value for one in stretches for value in one], dtype=float), offsets


@given(STRETCHES)
def test_each_stretch_has_its_own_median_and_extreme_and_an_empty_one_none(stretches):
    values, offsets = laid_out(stretches)
    medians = segments.medians(values, offsets)
    lowest = segments.reduced(np.minimum, values, offsets, np.nan)
    for one, median, low in zip(stretches, medians, lowest, strict=True):
        assert median == pytest.approx(np.median(one) if one else np.nan, nan_ok=True)
        assert low == pytest.approx(min(one, default=np.nan), nan_ok=True)


def test_one_unknown_value_makes_a_median_unknown_and_leaves_the_others():
    values, offsets = laid_out([[1.0, np.nan, 2.0], [5.0, 3.0, 4.0]])
    assert segments.medians(values, offsets).tolist() == pytest.approx([np.nan, 4.0], nan_ok=True)


def test_one_long_stretch_among_many_short_ones_has_its_median_too():
    rng = np.random.default_rng(3)
    stretches = [rng.uniform(0, 9, 5000 if place == 7 else place % 4) for place in range(40)]
    stretches[12][:] = np.nan
    stretches.append(np.array([4.0, np.nan, 1.0]))
    values, offsets = laid_out(stretches)
    expected = [np.median(one) if len(one) else np.nan for one in stretches]
    assert np.array_equal(segments.medians(values, offsets), expected, equal_nan=True)


@given(STRETCHES, st.data())
def test_values_are_held_against_the_level_of_their_own_stretch(stretches, data):
    values, offsets = laid_out(stretches)
    levels = st.one_of(st.floats(-50, 50), st.just(np.nan))
    level = data.draw(st.lists(levels, min_size=len(stretches), max_size=len(stretches)))
    index, bounds = segments.at_least(values, offsets, np.array(level, dtype=float))
    found = [values[index[a:b]].tolist() for a, b in zip(bounds[:-1], bounds[1:], strict=True)]
    expected = [
        [value for value in one if value >= least]
        for one, least in zip(stretches, level, strict=True)
    ]
    assert found == expected


@given(st.lists(st.lists(st.booleans(), max_size=5), max_size=6))
def test_first_and_last_are_looked_for_within_a_stretch(stretches):
    values, offsets = laid_out(stretches)
    first = segments.first_where(values > 0, offsets)
    last = segments.last_where(values > 0, offsets)
    for one, begin, found, end in zip(stretches, offsets, first, last, strict=False):
        places = [begin + place for place, is_so in enumerate(one) if is_so]
        assert (found, end) == ((places[0], places[-1]) if places else (-1, -1))


@given(st.lists(st.integers(0, 3), max_size=20))
def test_offsets_mark_every_change_of_key(keys):
    offsets = segments.offsets_of(np.array(keys, dtype=np.int64))
    runs = [keys[a:b] for a, b in zip(offsets[:-1], offsets[1:], strict=True)]
    assert [key for run in runs for key in run] == keys
    assert all(len(set(run)) == 1 for run in runs)
    assert all(a[0] != b[0] for a, b in zip(runs, runs[1:], strict=False))


def test_stretches_of_an_array_may_overlap_and_be_empty():
    index, offsets = segments.stretches(np.array([2, 5, 3]), np.array([5, 5, 4]))
    assert index.tolist() == [2, 3, 4, 3]
    assert offsets.tolist() == [0, 3, 3, 4]


@given(st.lists(st.floats(0, 10), min_size=1, max_size=200), st.floats(0, 10), st.data())
def test_the_first_and_the_last_below_a_level_are_found_near_and_far(values, level, data):
    first = data.draw(st.integers(0, len(values) - 1))
    last = data.draw(st.integers(first, len(values) - 1))
    below = [at for at in range(first, last + 1) if values[at] <= level]
    column, ends = np.array(values), (np.array([first]), np.array([last]))
    found = [
        find(column, *ends, np.array([level])).tolist()
        for find in (segments.first_below, segments.last_below)
    ]
    assert found == ([[below[0]], [below[-1]]] if below else [[-1], [-1]])


def test_what_lies_far_off_is_found_for_each_range_of_its_own():
    values = np.ones(400)
    values[[3, 380]] = 0
    first, last, level = np.array([0, 10, 10]), np.array([300, 399, 300]), np.array([0.5, 0.5, 0.5])
    assert segments.last_below(values, first, last, level).tolist() == [3, 380, -1]
    assert segments.first_below(values, first, last, level).tolist() == [3, 380, -1]


@given(st.integers(0, 2**32 - 1))
def test_each_of_many_ranges_finds_its_own_first_and_last_and_no_other(seed):
    rng = np.random.default_rng(seed)
    values = (rng.random(700) < rng.choice([0.5, 0.01, 0.002])).astype(float)
    first, last = np.sort(rng.integers(0, 700, (2, 30)), axis=0)
    last -= rng.integers(0, 3, 30)
    level = np.ones(30)
    places = [
        [at for at in range(a, b + 1) if values[at] >= 1] for a, b in zip(first, last, strict=True)
    ]
    found = segments.first_that(np.greater_equal, values, first, last, level)
    assert found.tolist() == [one[0] if one else -1 for one in places]
    found = segments.last_that(np.greater_equal, values, first, last, level)
    assert found.tolist() == [one[-1] if one else -1 for one in places]


def test_the_lowest_between_two_places_is_that_of_each_stretch():
    values = np.array([5.0, 1, 9, 7, 3, 8])
    first, last = np.array([0, 2, 4]), np.array([1, 3, 5])
    assert segments.reduced_between(np.minimum, values, first, last).tolist() == [1, 7, 3]
    assert segments.reduced_between(np.minimum, values, first[:1], np.array([0])).tolist() == [5]
    assert segments.reduced_between(np.minimum, values, first[:0], last[:0]).tolist() == []
