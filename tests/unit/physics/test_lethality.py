import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pipeline.physics.lethality import lethality
from pipeline.physics.reason import Reason
from pipeline.physics.samples import traces_of

CELSIUS = st.floats(20, 140)
STEPS = st.floats(1, 2)
WAYS = st.lists(st.tuples(STEPS, CELSIUS), min_size=2, max_size=12)


def traced(ways):
    steps, celsius = zip(*ways, strict=True)
    return np.cumsum(steps), np.array(celsius)


def f0(seconds, celsius):
    found = lethality(traces_of([0, len(seconds)], seconds, celsius))
    return found.minutes[0], found.reasons[0]


def minutes(seconds, celsius):
    value, reason = f0(seconds, celsius)
    assert reason == Reason.NONE
    return value


@given(WAYS, st.floats(0.1, 0.9), st.data())
def test_a_sample_more_on_a_straight_way_changes_nothing(ways, share, data):
    seconds, celsius = traced(ways)
    at = data.draw(st.integers(1, len(seconds) - 1))
    between = seconds[at - 1] + share * (seconds[at] - seconds[at - 1])
    more = np.insert(seconds, at, between)
    found = f0(more, np.insert(celsius, at, np.interp(between, seconds, celsius)))
    assume(found[1] == Reason.NONE)  # a sample more may turn the longest step into a gap
    assert found[0] == pytest.approx(minutes(seconds, celsius), rel=1e-8)


@given(WAYS, st.integers(-10_000, 10_000))
def test_when_it_was_changes_nothing(ways, shift):
    seconds, celsius = traced(ways)
    assert minutes(seconds + shift, celsius) == pytest.approx(minutes(seconds, celsius), rel=1e-9)


@given(WAYS, st.data())
def test_more_heat_is_never_less_lethality(ways, data):
    seconds, celsius = traced(ways)
    rises = data.draw(st.lists(st.floats(0, 10), min_size=len(ways), max_size=len(ways)))
    assert minutes(seconds, celsius + rises) >= minutes(seconds, celsius) * (1 - 1e-9)


@given(st.lists(WAYS, min_size=1, max_size=5), st.randoms())
def test_in_another_order_the_cycles_have_the_very_same_figures(cycles, random):
    def all_minutes(some):
        offsets = np.cumsum([0, *(len(one) for one in some)])
        seconds, celsius = zip(*(traced(one) for one in some), strict=True)
        traces = traces_of(offsets, np.concatenate(seconds), np.concatenate(celsius))
        return lethality(traces).minutes.tolist()

    order = random.sample(range(len(cycles)), len(cycles))
    found = all_minutes(cycles)
    assert all_minutes([cycles[place] for place in order]) == [found[place] for place in order]


def test_level_and_nearly_level_ways_agree():
    for rise in (0, 1e-12, 1e-6, 1e-5, 3e-4, 1e-3):
        expected = 10 ** ((134 + rise / 2 - 121.1) / 10)
        assert minutes([0, 60], [134, 134 + rise]) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize(
    ("seconds", "celsius", "reason"),
    [
        ([], [], Reason.NO_SAMPLES),
        ([0], [134], Reason.ONE_SAMPLE),
        ([0, 0, 0], [134, 135, 136], Reason.TIME_DOUBTFUL),
        ([10, 5, 0], [134, 134, 134], Reason.TIME_DOUBTFUL),
        ([0, 5, 10], [np.nan, np.nan, np.nan], Reason.CELSIUS_DOUBTFUL),
        ([0, 5, 10], [-400, -400, 134], Reason.CELSIUS_DOUBTFUL),
        ([0, 5, 10], [273, 274, 273], Reason.UNIT_SLIP),
        ([0, 5, 10], [850, 134, 134], Reason.CELSIUS_DOUBTFUL),
        ([0, 5, 10], [120, 130, 240], Reason.UNIT_SLIP),
        ([0, 5, 10, 60, 65], [134, 134, 134, 134, 134], Reason.GAP),
        ([0, 5, 10, 15, 20, 25], [134, 134, np.nan, np.nan, 134, 134], Reason.GAP),
    ],
)
def test_what_cannot_be_told_is_not_a_number_and_has_a_reason(seconds, celsius, reason):
    value, found = f0(seconds, celsius)
    assert np.isnan(value)
    assert found == reason


def test_one_lost_temperature_is_borne():
    assert minutes([0, 5, 10, 15], [134, np.nan, 134, 134]) == pytest.approx(
        minutes([0, 5, 10, 15], [134, 134, 134, 134])
    )


def test_a_figure_comes_with_what_it_was_computed_with():
    found = lethality(traces_of([0, 3], [0, 5, 10], [130, 131, 132]), 121.0, 9.0)
    assert (found.reference_celsius, found.z_kelvin) == (121.0, 9.0)
    assert found.step_seconds.tolist() == [5]


def test_a_long_array_gives_what_its_parts_give():
    """Longer than what is computed at a time; steps differ, and here and there a sample is lost."""
    rng = np.random.default_rng(1)
    lengths = rng.integers(2, 900, 200)
    row = np.repeat(np.arange(200), lengths)
    begins = np.cumsum(lengths) - lengths
    seconds = rng.choice([2.0, 5.0, 10.0], 200)[row] * (np.arange(len(row)) - begins[row])
    kept = np.delete(np.arange(len(row)), (begins + lengths // 2)[lengths > 850])
    row, seconds = row[kept], seconds[kept]
    offsets = np.searchsorted(row, np.arange(201))
    celsius = rng.uniform(20, 137, len(row))
    whole = lethality(traces_of(offsets, seconds, celsius)).minutes
    for begin, end, expected in zip(offsets[:-1], offsets[1:], whole, strict=True):
        assert minutes(seconds[begin:end], celsius[begin:end]) == expected


def test_the_trapezoid_reads_high_where_the_closed_form_does_not():
    """A minute at 134 °C sampled each minute, with ramps of 20 K a minute on both sides."""
    seconds, celsius = [0, 60, 120, 180], np.array([114.0, 134, 134, 114])
    rate = 10 ** ((celsius - 121.1) / 10)
    exact = rate[1] + 2 * (rate[1] - rate[0]) / (2 * np.log(10))
    assert minutes(seconds, celsius) == pytest.approx(exact, rel=1e-12)
    assert np.trapezoid(rate, seconds) / 60 > 1.38 * exact
