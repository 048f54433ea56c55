import numpy as np
import pytest

from pipeline.physics.hold import find_hold
from pipeline.physics.reason import Reason
from pipeline.physics.samples import traces_of
from pipeline.physics.steam import saturation_kpa
from pipeline.physics.theoretical import Meaning, find_departure, meaning_of

AIR = 101.325


def departure(celsius, kpa, low=134.0):
    traces = traces_of([0, len(celsius)], 5.0 * np.arange(len(celsius)), celsius, kpa)
    hold = find_hold(traces, np.array([low]), np.array([low + 4]))
    return find_departure(traces, hold, np.array([AIR]))


def steam_at(celsius):
    return saturation_kpa(np.array(celsius, dtype=float))


def test_the_ends_of_a_hold_do_not_move_its_middle():
    celsius = np.full(30, 134.5)
    kpa = steam_at(celsius)
    kpa[:9] -= 40
    kpa[-9:] += 40
    found = departure(celsius, kpa)
    assert found.mid_kelvin[0] == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("celsius", "kpa", "meaning"),
    [
        (134.5, 300.0, Meaning.AGREES),
        (134.5, 290.0, Meaning.SUPERHEAT_OR_LOW_PRESSURE),
        (131.0, 304.0, Meaning.AIR_OR_COLD_PROBE),
        (134.0, 304.2 - AIR, Meaning.GAUGE_AS_ABSOLUTE),
        (134.0, 304.2 + AIR, Meaning.ABSOLUTE_AS_GAUGE),
        (134.0, 304.2 / 6.894757, Meaning.PSI_AS_KPA),
        (134.0, 3.042, Meaning.BAR_AS_KPA),
        (273.2, 304.2, Meaning.FAHRENHEIT),
        (134.0, 250.0, Meaning.SUPERHEAT_OR_LOW_PRESSURE),
        (134.0, np.nan, Meaning.NOT_TOLD),
        (np.nan, 304.2, Meaning.NOT_TOLD),
    ],
)
def test_a_pair_of_values_says_what_it_may_be(celsius, kpa, meaning):
    assert meaning_of(np.array([celsius]), np.array([kpa]), np.array([AIR])).tolist() == [meaning]


@pytest.mark.parametrize("altitude_kpa", [101.325, 84.56, 74.68])
@pytest.mark.parametrize("celsius", [121.0, 126.0, 134.0])
def test_gauge_pressure_is_known_for_what_it_is_at_any_altitude(altitude_kpa, celsius):
    gauge = steam_at([celsius]) - altitude_kpa
    found = meaning_of(np.array([celsius]), gauge, np.array([altitude_kpa]))
    assert found.tolist() == [Meaning.GAUGE_AS_ABSOLUTE]


@pytest.mark.parametrize("celsius", [121.0, 134.0])
@pytest.mark.parametrize("off", [-7.5, -3.0, 3.0, 7.5])
def test_no_fault_of_a_chamber_is_taken_for_another_unit(celsius, off):
    found = meaning_of(np.array([celsius + off]), steam_at([celsius]), np.array([AIR]))
    assert found[0] in (Meaning.AIR_OR_COLD_PROBE, Meaning.SUPERHEAT_OR_LOW_PRESSURE)


def test_a_unit_slip_is_a_reason_not_to_tell_and_keeps_its_kelvin():
    found = departure(np.full(30, 134.5), steam_at(np.full(30, 134.5)) - AIR)
    assert found.reasons.tolist() == [Reason.UNIT_SLIP]
    assert found.mid_kelvin[0] > 10


@pytest.mark.parametrize(("lost", "reason"), [(5, Reason.NONE), (6, Reason.KPA_DOUBTFUL)])
def test_half_of_the_pressures_at_mid_hold_must_be_known(lost, reason):
    celsius = np.full(30, 134.5)
    kpa = steam_at(celsius)
    kpa[10 : 10 + lost] = np.nan
    found = departure(celsius, kpa)
    assert found.reasons.tolist() == [reason]
    assert np.isnan(found.mid_kelvin[0]) == (reason != Reason.NONE)


def test_without_a_hold_there_is_nothing_to_compare():
    found = departure(np.full(30, 120.0), steam_at(np.full(30, 120.0)))
    assert found.reasons.tolist() == [Reason.NO_HOLD]
    assert found.meanings.tolist() == [Meaning.NOT_TOLD]
    assert np.isnan(found.mid_kelvin[0])
