import numpy as np
import pytest

from pipeline.physics.reason import Reason
from pipeline.physics.samples import trace_at, traces_of, with_temperature


def one(seconds, celsius=None, kpa=None):
    celsius = np.full(len(seconds), 134.0) if celsius is None else celsius
    return traces_of([0, len(seconds)], seconds, celsius, kpa)


@pytest.mark.parametrize(
    ("seconds", "reason"),
    [
        ([], Reason.NO_SAMPLES),
        ([5], Reason.ONE_SAMPLE),
        ([0, 5, 10], Reason.NONE),
        ([0, 5, 4], Reason.TIME_DOUBTFUL),
        ([10, 5, 0], Reason.TIME_DOUBTFUL),
        ([0, np.nan, 10], Reason.TIME_DOUBTFUL),
        ([np.nan, np.nan], Reason.TIME_DOUBTFUL),
        ([0, np.inf, 10], Reason.TIME_DOUBTFUL),
        ([0, np.inf], Reason.TIME_DOUBTFUL),
        ([0, 5, 10, 17, np.inf], Reason.TIME_DOUBTFUL),
        ([-np.inf, 5, 10], Reason.TIME_DOUBTFUL),
    ],
)
def test_instants_that_cannot_be_are_a_reason(seconds, reason):
    assert one(seconds).reasons().tolist() == [reason]
    assert np.isinf(one(seconds).elapsed_seconds).sum() == 0


def test_the_only_instant_of_a_cycle_is_no_number_where_it_cannot_be():
    assert np.isnan(one([np.inf]).elapsed_seconds).all()


def test_a_sample_that_stands_twice_counts_once():
    traces = one([0, 5, 5, 5, 10], [20, 21, 21, 21, 22.0], [1, 2, 2, 2, 3.0])
    assert traces.elapsed_seconds.tolist() == [0, 5, 10]
    assert traces.reasons().tolist() == [Reason.NONE]


@pytest.mark.parametrize("kpa", [[1, 2, 9, 3.0], [1, 2, np.nan, 3.0]])
def test_one_instant_with_two_values_is_doubtful(kpa):
    assert one([0, 5, 5, 10], [20, 21, 21, 22.0], kpa).reasons().tolist() == [Reason.TIME_DOUBTFUL]


def test_the_last_sample_of_a_cycle_is_not_the_first_of_the_next_said_twice():
    traces = traces_of([0, 2, 4], [0, 5, 5, 10], [20, 21, 21, 22.0])
    assert traces.offsets.tolist() == [0, 2, 4]
    assert traces.reasons().tolist() == [Reason.NONE, Reason.NONE]


@pytest.mark.parametrize("celsius", [np.nan, np.inf, -300.0, -31.0, 161.0, 273.0, 1e300])
def test_a_temperature_that_cannot_be_is_not_a_number_and_left_out(celsius):
    traces = one([0, 5, 10], [20, celsius, 22])
    assert np.isnan(traces.celsius).tolist() == [False, True, False]
    believed, kept = with_temperature(traces)
    assert (believed.celsius.tolist(), kept.tolist()) == ([20, 22], [0, 2])


@pytest.mark.parametrize("kpa", [np.nan, -80.0, 0.0, 601.0])
def test_a_pressure_that_cannot_be_is_not_a_number(kpa):
    assert np.isnan(one([0, 5], [20, 21], [100, kpa]).kpa).tolist() == [False, True]


def test_pressures_that_nobody_logged_are_no_numbers():
    assert np.isnan(one([0, 5]).kpa).tolist() == [True, True]


def test_impossible_values_of_one_instant_are_a_doubt_when_they_differ():
    twice = [one([0, 5, 5, 10], [20, 21, 21, 22.0], [100, 900, kpa, 100]) for kpa in (900, 901)]
    assert [traces.is_time_doubtful.tolist() for traces in twice] == [[False], [True]]


def test_what_the_traces_hold_cannot_be_written_to():
    seconds = np.array([0, 5, 10.0])
    traces = one(seconds)
    for name in ("offsets", "elapsed_seconds", "celsius", "kpa"):
        assert not getattr(traces, name).flags.writeable
    assert seconds.flags.writeable


def test_leaving_a_sample_out_does_not_hide_that_its_instant_was_doubtful():
    traces = one([0, 5, 4, 10], [20, 21, np.nan, 23])
    believed, _ = with_temperature(traces)
    assert believed.reasons().tolist() == [Reason.TIME_DOUBTFUL]


def test_what_is_left_out_of_one_cycle_does_not_shift_the_next():
    seconds = [5, 5, 5, 0, 5, 10]
    traces = traces_of([0, 3, 6], seconds, [20, np.nan, 20, 30, 31, 32.0])
    believed, kept = with_temperature(traces)
    assert len(kept) == len(believed.celsius)
    assert believed.celsius.tolist() == traces.celsius[kept].tolist()


@pytest.mark.parametrize(
    ("seconds", "has_gap"),
    [
        ([0, 5, 10, 15, 20], False),
        ([0, 5, 15, 20, 25], False),  # one sample lost
        ([0, 5, 20, 25, 30], True),  # two lost
        ([0, 10, 20, 45, 55], False),  # just two and a half steps
        ([0, 10, 20, 46, 56], True),
    ],
)
def test_two_lost_samples_are_a_gap(seconds, has_gap):
    assert one(seconds).has_gap.tolist() == [has_gap]


def test_a_gap_in_the_cold_does_not_count_beside_a_hot_part_and_does_without_one():
    seconds = [0, 5, 10, 15, 20, 25, 90]
    hot = one(seconds, [60, 80, 134, 134, 134, 80, 60])
    assert hot.has_gap.tolist() == [False]
    assert np.diff(seconds)[5] > trace_at(hot.columns, 0).most_seconds
    assert one(seconds, [60, 80, 90, 90, 90, 80, 60]).has_gap.tolist() == [True]


def test_a_gap_that_ends_in_the_heat_counts():
    traces = one([0, 5, 90, 95, 100, 105], [60, 80, 134, 134, 134, 134])
    assert traces.has_gap.tolist() == [True]


def test_the_usual_step_is_that_of_the_hot_part():
    """A unit that writes each 5 s while it pumps and once a minute in the hold has no gap there."""
    seconds = [*range(0, 50, 5), 60, 120, 180, 240, 300]
    traces = one(seconds, [*[60] * 10, 120, 134, 134, 134, 134])
    assert traces.step_seconds.tolist() == [60]
    assert traces.has_gap.tolist() == [False]


def test_steps_into_the_heat_and_out_of_it_are_none_of_the_hot_part():
    """Three steps of a minute are hot throughout, four short ones only at one end."""
    seconds = np.cumsum([0, 60, 60, 60, 5, 5, 5, 5])
    traces = one(seconds, [134, 134, 134, 134, 80, 134, 80, 134])
    assert traces.step_seconds.tolist() == [60]


def test_a_cycle_whose_clock_goes_back_has_no_usual_step():
    assert np.isnan(one([0, 5, 10, 8, 13]).step_seconds).all()


@pytest.mark.parametrize("at", [1, 2, 7, 31, 32, 33, 63, 64, 498, 499])
def test_a_gap_is_seen_wherever_it_lies(at):
    seconds = 5.0 * np.arange(500)
    seconds[at:] += 60
    traces = traces_of([0, 20, 520], [*range(0, 100, 5), *seconds], np.full(520, 134.0))
    assert traces.has_gap.tolist() == [False, True]
    assert traces.step_seconds.tolist() == [5, 5]


def test_cycles_do_not_see_each_other():
    traces = traces_of([0, 3, 3, 6, 7], [0, 5, 10, 900, 960, 1020, 7], np.full(7, 20.0))
    assert traces.step_seconds.tolist() == pytest.approx([5, np.nan, 60, np.nan], nan_ok=True)
    assert not traces.has_gap.any()
    assert traces.reasons().tolist() == [0, Reason.NO_SAMPLES, 0, Reason.ONE_SAMPLE]


@pytest.mark.parametrize(
    ("seconds", "steps"),
    [
        ([0, 5, 10, 0, 5, 10], [5, 5]),
        ([0, 5, 10, 900, 905, 910], [5, 5]),
        ([0, 5, 10, 15, 20, 25], [5, 5]),  # the next cycle goes on in step with the last one
        ([0, 5, 10, 0, 60, 120], [5, 60]),
        ([0, 5, 10, 0, 5, 11], [5, 5.5]),
        ([0, 5, 9, 14, 19, 24], [4.5, 5]),
        ([0, 0, 0, 10, 5, 0], [np.nan, np.nan]),
        ([0, np.nan, 10, 0, 5, 10], [np.nan, 5]),
    ],
)
def test_the_step_of_a_cycle_is_that_of_its_own_instants(seconds, steps):
    traces = traces_of([0, 3, 6], seconds, np.arange(20.0, 26))
    assert traces.step_seconds.tolist() == pytest.approx(steps, nan_ok=True)
    assert traces.is_time_doubtful.tolist() == np.isnan(steps).tolist()


@pytest.mark.parametrize(
    ("offsets", "celsius", "told"),
    [
        ([0, 2], [1.0], "2 instants, 1 temperatures, 2 pressures"),
        ([0, 1], [1.0, 2.0], "offsets must rise from 0 to 2"),
        ([1, 2], [1.0, 2.0], "offsets must rise from 0 to 2"),
        ([0, 2, 1, 2], [1.0, 2.0], "offsets must rise from 0 to 2"),
        ([], [1.0, 2.0], "offsets must rise from 0 to 2"),
    ],
)
def test_columns_that_do_not_fit_are_refused(offsets, celsius, told):
    with pytest.raises(ValueError, match=told):
        traces_of(offsets, [0, 5], celsius, [100, 100])
