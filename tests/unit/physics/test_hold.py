"""Holds are drawn: a sample each 10 s, i in the band, C colder, c cold, H hotter, ? not known."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.physics.hold import find_hold
from pipeline.physics.reason import Reason
from pipeline.physics.samples import traces_of

CELSIUS = {"c": 20.0, "C": 120.0, "H": 140.0, "i": 134.5, "?": np.nan}


def drawn(*pictures, low=134.0, high=138.0):
    """A blank is a sample that was lost with its instant."""
    seconds, celsius, offsets = [], [], [0]
    for picture in pictures:
        seen = [(10.0 * at, CELSIUS[mark]) for at, mark in enumerate(picture) if mark != " "]
        seconds += [at for at, _ in seen]
        celsius += [value for _, value in seen]
        offsets.append(len(seconds))
    traces = traces_of(offsets, seconds, celsius)
    return find_hold(traces, np.full(len(pictures), low), np.full(len(pictures), high))


@pytest.mark.parametrize(
    ("picture", "sure", "possible", "unseen"),
    [
        ("CCiiiiCC", 30, 50, 0),
        ("CCiCC", 0, 20, 0),
        ("CCCC", 0, 0, 0),
        ("CiiiCiiiiCiC", 30, 50, 0),
        ("CiiHiiiC", 20, 40, 0),
        ("Ciiii", 30, 50, np.inf),
        ("iiiiC", 30, 50, np.inf),
        ("Cii iiC", 40, 60, 0),  # one lost sample is borne
        ("Cii?iiC", 40, 60, 0),
        ("Cii  iiC", 10, 70, 70),
        ("Cii??iiC", 10, 70, 70),
        ("Cii  CCC", 10, 50, 50),
        ("CCC  iiC", 10, 50, 50),
        ("CiiC   CC", 10, 30, 40),
        ("cc   ccCiiC", 10, 30, 0),  # in the cold nothing can hide
    ],
)
def test_a_hold_is_as_long_as_its_samples_show(picture, sure, possible, unseen):
    found = drawn(picture)
    assert found.reasons.tolist() == [Reason.NONE]
    assert found.sure_seconds.tolist() == [sure]
    assert found.possible_seconds.tolist() == [possible]
    assert found.unseen_seconds.tolist() == [unseen]


def test_both_edges_belong_to_the_band():
    traces = traces_of([0, 5], np.arange(5) * 10.0, [133.99, 134.0, 136.0, 138.0, 138.01])
    found = find_hold(traces, np.array([134.0]), np.array([138.0]))
    assert (found.first[0], found.last[0]) == (1, 3)
    assert (found.min_celsius[0], found.max_celsius[0], found.spread_kelvin[0]) == (134, 138, 4)


def test_of_equal_runs_the_first_is_the_hold():
    found = drawn("CiiCiiC")
    assert (found.first[0], found.last[0]) == (1, 2)


def test_indices_count_the_samples_that_were_left_out_too():
    found = drawn("C?CiiC")
    assert (found.first[0], found.last[0]) == (3, 4)


def test_each_cycle_has_a_band_and_a_hold_of_its_own():
    traces = traces_of([0, 4, 4, 8], np.arange(8) % 4 * 10.0, [121, 121.5, 122, 100] * 2)
    found = find_hold(traces, np.array([121.0, 121, 134]), np.array([124.0, 124, 138]))
    assert found.sure_seconds.tolist() == pytest.approx([20, np.nan, 0], nan_ok=True)
    assert found.first.tolist() == [0, -1, -1]
    assert found.reasons.tolist() == [Reason.NONE, Reason.NO_SAMPLES, Reason.NONE]


@pytest.mark.parametrize(
    ("seconds", "celsius", "low", "reason"),
    [
        ([0, 10, 10, 20], [134, 134, 135, 134], 134.0, Reason.TIME_DOUBTFUL),
        ([0, 10, 5, 20], [134, 134, 135, 134], 134.0, Reason.TIME_DOUBTFUL),
        ([0], [134], 134.0, Reason.ONE_SAMPLE),
        ([0, 10], [273, 274], 134.0, Reason.UNIT_SLIP),
        ([0, 10], [-273, 274.0], 134.0, Reason.UNIT_SLIP),
        ([0, 10], [850, 850], 134.0, Reason.CELSIUS_DOUBTFUL),
        ([0, 10], [134, 134], np.nan, Reason.NO_LIMIT),
    ],
)
def test_what_cannot_be_told_has_a_reason_and_no_figure(seconds, celsius, low, reason):
    traces = traces_of([0, len(seconds)], seconds, celsius)
    found = find_hold(traces, np.array([low]), np.array([low + 4]))
    assert found.reasons.tolist() == [reason]
    assert np.isnan([found.sure_seconds[0], found.possible_seconds[0], found.min_celsius[0]]).all()
    assert (found.first[0], found.last[0]) == (-1, -1)


@given(st.lists(st.text("CHi", min_size=2, max_size=15), min_size=1, max_size=6))
def test_the_hold_is_the_longest_run_that_a_plain_search_finds(pictures):
    found = drawn(*pictures)
    for at, picture in enumerate(pictures):
        runs = [run for run in picture.replace("H", "C").split("C") if run]
        assert found.sure_seconds[at] == 10 * max([len(run) - 1 for run in runs], default=0)


@given(st.lists(st.text("CHi? ", min_size=4, max_size=15), min_size=1, max_size=6), st.randoms())
def test_in_another_order_the_cycles_have_the_very_same_holds(pictures, random):
    order = random.sample(range(len(pictures)), len(pictures))
    found, other = drawn(*pictures), drawn(*(pictures[place] for place in order))
    for name in ("sure_seconds", "possible_seconds", "unseen_seconds", "max_celsius", "reasons"):
        here, there = getattr(found, name), getattr(other, name)
        assert np.array_equal(there, here[order], equal_nan=True)
    lengths = (found.last - found.first)[order]
    assert np.array_equal(other.last - other.first, lengths)


@given(st.text("CHi", min_size=4, max_size=12), st.data())
def test_a_lost_sample_never_makes_a_hold_sure_that_was_not_possible(picture, data):
    at = data.draw(st.integers(1, len(picture) - 2))
    whole = drawn(picture)
    torn = drawn(picture[:at] + " " + picture[at + 1 :])
    most = np.maximum(torn.possible_seconds, torn.unseen_seconds)
    assert (most >= whole.sure_seconds).all()
