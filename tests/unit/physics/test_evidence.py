import numpy as np
import pytest

from pipeline.physics.evidence import Logged, Source, from_logged, from_readings, preferred
from pipeline.physics.measured import measure
from pipeline.physics.reason import Reason
from pipeline.physics.samples import traces_of
from pipeline.physics.shortfall import Shortfall
from pipeline.physics.theoretical import Meaning

LOW, HIGH, NEEDED, AIR = (np.array([value]) for value in (134.0, 138.0, 180.0, 101.325))
GOOD = {
    "hold_seconds": 200.0,
    "hold_min_celsius": 134.5,
    "hold_max_celsius": 135.5,
    "hold_min_kpa": 309.0,
    "hold_max_kpa": 318.0,
    "drying_seconds": 900.0,
    "leak_kpa_per_minute": np.nan,
}


def logged(high=HIGH, **changes):
    values = Logged(*(np.array([value]) for value in (GOOD | changes).values()))
    return from_logged(values, LOW, high, NEEDED, AIR)


def read(celsius, lasted=None, step=10.0):
    traces = traces_of([0, len(celsius)], step * np.arange(len(celsius)), celsius)
    lasted_seconds = None if lasted is None else np.array([lasted])
    return from_readings(traces, measure(traces, LOW, HIGH, AIR), LOW, HIGH, NEEDED, lasted_seconds)


@pytest.mark.parametrize(
    ("changes", "cause", "amount"),
    [
        ({}, Shortfall.NONE, np.nan),
        ({"hold_seconds": 170.0}, Shortfall.TOO_SHORT, 10.0),
        ({"hold_min_celsius": 133.0}, Shortfall.TOO_COLD_BETWEEN, 1.0),
        ({"hold_max_celsius": 139.5}, Shortfall.TOO_HOT, 1.5),
        # What is known to be broken is broken, whatever else was not logged.
        ({"hold_min_celsius": 133.0, "hold_seconds": np.nan}, Shortfall.TOO_COLD_BETWEEN, 1.0),
        ({"hold_max_celsius": 139.0, "hold_min_celsius": np.nan}, Shortfall.TOO_HOT, 1.0),
    ],
)
def test_a_logged_value_outside_what_is_asked_is_a_shortfall(changes, cause, amount):
    found = logged(**changes)
    assert found.shortfalls.tolist() == [cause]
    assert found.shortfall_amounts[0] == pytest.approx(amount, nan_ok=True)
    assert found.hold_reasons.tolist() == [Reason.NONE]


@pytest.mark.parametrize("name", ["hold_seconds", "hold_min_celsius", "hold_max_celsius"])
def test_a_hold_of_which_a_value_is_missing_cannot_be_told(name):
    found = logged(**{name: np.nan})
    assert found.hold_reasons.tolist() == [Reason.NOT_LOGGED]
    assert found.shortfalls.tolist() == [Shortfall.NONE]


def test_a_band_that_is_open_above_asks_for_no_highest_value():
    found = logged(high=np.array([np.inf]), hold_max_celsius=np.nan)
    assert found.hold_reasons.tolist() == [Reason.NONE]


@pytest.mark.parametrize(
    ("changes", "kelvin", "reason", "meaning"),
    [
        ({}, -0.06, Reason.NONE, Meaning.AGREES),
        ({"hold_min_kpa": 290.0}, 2.13, Reason.NONE, Meaning.SUPERHEAT_OR_LOW_PRESSURE),
        ({"hold_max_kpa": 342.0}, -2.55, Reason.NONE, Meaning.AIR_OR_COLD_PROBE),
        ({"hold_max_kpa": np.nan}, -0.02, Reason.NONE, Meaning.AGREES),
        ({"hold_min_kpa": np.nan, "hold_max_kpa": np.nan}, np.nan, Reason.NOT_LOGGED, 0),
        (
            {"hold_min_kpa": 207.7, "hold_max_kpa": 216.7},
            13.1,
            Reason.UNIT_SLIP,
            Meaning.GAUGE_AS_ABSOLUTE,
        ),
    ],
)
def test_of_two_differences_from_steam_the_worse_counts(changes, kelvin, reason, meaning):
    found = logged(**changes)
    assert found.departure_kelvin[0] == pytest.approx(kelvin, abs=0.06, nan_ok=True)
    assert found.departure_reasons.tolist() == [reason]
    assert found.meanings.tolist() == [meaning]


def test_a_log_that_says_nothing_is_no_source():
    nothing = logged(**dict.fromkeys(GOOD, np.nan))
    assert nothing.sources.tolist() == [Source.NOTHING]
    assert logged().sources.tolist() == [Source.LOGGED]


def test_readings_are_believed_before_the_log():
    both = preferred(read([120.0, *[135.0] * 3, 120.0]), logged())
    assert both.sources.tolist() == [Source.READINGS]
    assert both.hold_seconds.tolist() == [20]
    assert both.shortfalls.tolist() == [Shortfall.TOO_SHORT]


def test_the_log_speaks_where_there_are_no_readings_and_fills_in_drying():
    alone = preferred(read([]), logged())
    assert alone.sources.tolist() == [Source.LOGGED]
    assert alone.hold_seconds.tolist() == [200]
    both = preferred(read([120.0, *[135.0] * 3, 120.0]), logged())
    assert both.drying_seconds.tolist() == [900]
    assert both.drying_reasons.tolist() == [Reason.NONE]


@pytest.mark.parametrize(
    ("celsius", "lasted", "unseen"),
    [
        ([40.0, 60, 90, 100, 80], 40.0, 0.0),
        ([40.0, 60, 90, 100, 80], 2400.0, 2360.0),  # the rest of the cycle was not seen
        ([40.0, 60, 90, 100, 80], np.nan, 0.0),
        ([40.0, 135, 135, 100, 80], 2400.0, 0.0),  # it was hot, and out again
    ],
)
def test_what_a_torn_trace_does_not_show_is_unseen(celsius, lasted, unseen):
    assert read(celsius, lasted).unseen_seconds.tolist() == [unseen]


def test_a_trace_that_begins_late_has_an_unseen_beginning():
    traces = traces_of([0, 3], [1500.0, 1510, 1520], [80.0, 70, 60])
    found = from_readings(
        traces, measure(traces, LOW, HIGH, AIR), LOW, HIGH, NEEDED, np.array([1520.0])
    )
    assert found.unseen_seconds.tolist() == [1500]
