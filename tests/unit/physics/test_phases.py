"""Pressures are drawn by their corners; temperature is that of steam, and never below the wall."""

import numpy as np
import pytest

from pipeline.physics.phases import Phase, find_phases
from pipeline.physics.reason import Reason
from pipeline.physics.rise import pulse_count
from pipeline.physics.samples import traces_of
from pipeline.physics.steam import saturation_celsius

AIR = 101.0
CORNERS = {
    "vacuum": [(0, AIR), (60, AIR), (120, 10), (180, 130), (240, 12), (300, 140), (360, 8),
               (660, 318), (930, 318), (1020, 104), (1120, 14), (1500, 14), (1530, AIR)],
    "gravity": [(0, AIR), (60, AIR), (660, 318), (930, 318), (1020, 103), (1530, AIR)],
    "flush": [(0, AIR), (60, AIR), (120, 140), (180, 106), (240, 150), (300, 105), (360, 150),
              (400, 106), (660, 318), (930, 318), (1020, 104), (1530, AIR)],
}  # fmt: skip


def drawn(corners, step=5.0, until=None, noise=0.0, steps_back=0):
    at, kpa = zip(*corners, strict=True)
    seconds = np.arange(0.0, (until or at[-1]) + 1, step)
    pressure = np.interp(seconds, at, kpa)
    celsius = np.maximum(saturation_celsius(np.maximum(pressure, 1.0)), 60.0)
    pressure = pressure + noise * np.random.default_rng(3).normal(size=len(seconds))
    return seconds, celsius, pressure


def phases_of(seconds, celsius, kpa, low=134.0):
    traces = traces_of([0, len(seconds)], seconds, celsius, kpa)
    return find_phases(traces, np.array([low]), np.array([AIR]))


def assert_begins(found, expected, within):
    seconds = dict(zip(Phase, found.begin_seconds[0], strict=True))
    for phase, at in expected.items():
        assert seconds[phase] == pytest.approx(at, abs=within, nan_ok=True), phase.name


VACUUM = {
    Phase.FILL: 0,
    Phase.AIR_REMOVAL: 60,
    Phase.HEAT_UP: 360,
    Phase.HOLD: 660,
    Phase.EXHAUST: 930,
    Phase.DRYING: 1020,
    Phase.VENT: 1500,
    Phase.END: 1530,
}


@pytest.mark.parametrize("step", [1.0, 3.0, 5.0, 10.0])
def test_each_phase_of_a_vacuum_cycle_is_found_within_a_sample(step):
    found = phases_of(*drawn(CORNERS["vacuum"], step))
    assert found.reasons.tolist() == [Reason.NONE]
    assert_begins(found, VACUUM, step)
    assert found.pulse_count.tolist() == [3]
    assert found.depth_kpa[0] == pytest.approx(8, abs=step)


def test_noise_of_the_sensor_is_no_pulse_and_moves_no_phase_by_more_than_two_samples():
    found = phases_of(*drawn(CORNERS["vacuum"], 5.0, noise=0.25))
    assert_begins(found, VACUUM, 10)
    assert found.pulse_count.tolist() == [3]


def test_a_gravity_cycle_has_no_vacuum_and_no_pulses():
    found = phases_of(*drawn(CORNERS["gravity"]))
    expected = {Phase.HEAT_UP: 60, Phase.HOLD: 660, Phase.EXHAUST: 930, Phase.DRYING: 1020}
    assert_begins(found, expected | {Phase.VENT: np.nan, Phase.AIR_REMOVAL: np.nan}, 5)
    assert found.pulse_count.tolist() == [0]
    assert np.isnan(found.depth_kpa[0])


@pytest.mark.parametrize(
    ("kpa", "count"),
    [
        ([], 0),
        ([10.0, 100], 0),
        ([100.0, 10], 1),
        ([10.0, 100, 10, 100, 10, 100], 2),
        ([100.0, 10, 12, 11, 100, 10], 2),
        ([100.0, 98.6, 100, 98.6], 0),  # less than a pulse
        ([200.0, 100, 200, 100, 200, 20, 200], 3),  # the lowest level is crossed once
    ],
)
def test_a_pulse_is_a_fall_through_a_middle_level(kpa, count):
    assert pulse_count(np.array(kpa)) == count


def test_pulses_of_steam_above_the_room_are_counted():
    found = phases_of(*drawn(CORNERS["flush"]))
    assert found.pulse_count.tolist() == [3]
    assert_begins(found, {Phase.AIR_REMOVAL: 60, Phase.HEAT_UP: 400, Phase.HOLD: 660}, 5)
    assert np.isnan(found.depth_kpa[0])


@pytest.mark.parametrize(
    ("until", "last_found"),
    [(280, Phase.HEAT_UP), (600, Phase.HEAT_UP), (800, Phase.HOLD), (1000, Phase.EXHAUST)],
)
def test_a_cycle_that_ended_early_has_no_later_phases(until, last_found):
    found = phases_of(*drawn(CORNERS["vacuum"], until=until))
    later = [one for one in Phase if last_found < one < Phase.END]
    assert (found.begins[0, later] == -1).all()
    assert found.begin_seconds[0, Phase.END] == until


def test_without_a_band_the_plateau_is_what_is_hottest():
    found = phases_of(*drawn(CORNERS["vacuum"]), low=np.nan)
    assert_begins(found, VACUUM, 5)


def test_seconds_between_phases_need_both():
    found = phases_of(*drawn(CORNERS["gravity"]))
    assert found.seconds(Phase.HOLD, Phase.EXHAUST)[0] == pytest.approx(270, abs=5)
    assert np.isnan(found.seconds(Phase.DRYING, Phase.VENT)[0])


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (lambda s, c, p: (s, c, np.full(len(s), np.nan)), Reason.KPA_DOUBTFUL),
        (lambda s, c, p: (s, c, np.where(s < 100, np.nan, p)), Reason.KPA_DOUBTFUL),
        (lambda s, c, p: (s, c, p - AIR), Reason.KPA_DOUBTFUL),
        (lambda s, c, p: (s, c * 1.8 + 32, p), Reason.UNIT_SLIP),
        (lambda s, c, p: (s[::-1], c, p), Reason.TIME_DOUBTFUL),
        (lambda s, c, p: (s[:1], c[:1], p[:1]), Reason.ONE_SAMPLE),
        (lambda s, c, p: (s[:0], c[:0], p[:0]), Reason.NO_SAMPLES),
    ],
)
def test_what_cannot_be_told_has_a_reason_and_no_phases(change, reason):
    found = phases_of(*change(*drawn(CORNERS["vacuum"])))
    assert found.reasons.tolist() == [reason]
    assert (found.begins == -1).all()
    assert np.isnan(found.begin_seconds).all()


def test_a_few_lost_pressures_are_borne():
    seconds, celsius, kpa = drawn(CORNERS["vacuum"])
    kpa[[40, 150, 250]] = np.nan
    found = phases_of(seconds, celsius, kpa)
    assert_begins(found, VACUUM, 5)


def test_each_cycle_has_the_phases_that_it_has_alone():
    some = [drawn(CORNERS[name], step) for name in CORNERS for step in (2.0, 5.0)]
    some.insert(2, tuple(np.zeros(0) for _ in range(3)))
    offsets = np.cumsum([0, *(len(one[0]) for one in some)])
    columns = [np.concatenate(column) for column in zip(*some, strict=True)]
    size = len(some)
    together = find_phases(traces_of(offsets, *columns), np.full(size, 134.0), np.full(size, AIR))
    for at, one in enumerate(some):
        alone = phases_of(*one)
        assert np.array_equal(together.begin_seconds[at], alone.begin_seconds[0], equal_nan=True)
        assert together.pulse_count[at] == alone.pulse_count[0]


def test_a_trace_that_begins_while_the_pressure_moves_borrows_no_sample_of_the_one_before():
    one = drawn(CORNERS["vacuum"])
    size, cut = len(one[0]), 15
    traces = traces_of(
        [0, size, 2 * size - cut], *(np.concatenate([column, column[cut:]]) for column in one)
    )
    found = find_phases(traces, np.full(2, 134.0), np.full(2, AIR))
    assert found.begins[:, Phase.AIR_REMOVAL].tolist() == [60 // 5, size]
