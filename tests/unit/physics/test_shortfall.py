"""Why a hold of 30 s in 134 to 138 °C, a sample each 10 s, was missed and by how much."""

import numpy as np
import pytest

from pipeline.physics.hold import find_hold
from pipeline.physics.samples import traces_of
from pipeline.physics.shortfall import Shortfall, find_shortfalls


def short_of(celsius, needed=30.0):
    traces = traces_of([0, len(celsius)], 10.0 * np.arange(len(celsius)), celsius)
    low, high = np.array([134.0]), np.array([138.0])
    found = find_shortfalls(traces, find_hold(traces, low, high), low, high, np.array([needed]))
    return Shortfall(found.causes[0]), found.amounts[0]


@pytest.mark.parametrize(
    ("celsius", "cause", "amount"),
    [
        ([120, 134, 135, 136, 135, 120], Shortfall.NONE, np.nan),
        ([120, 131, 132, 131.5, 131, 120], Shortfall.NEVER_HOT_ENOUGH, 2.0),
        ([120, 135, 135, 132.5, 135, 135, 120], Shortfall.TOO_COLD_BETWEEN, 1.5),
        ([120, 135, 135, 139, 140, 135, 120], Shortfall.TOO_HOT, 2.0),
        ([120, 135, 120], Shortfall.TOO_SHORT, 30.0),
        ([120, 135, 135, 135, 120], Shortfall.NOT_SHOWN, 10.0),
    ],
)
def test_the_nearest_cause_is_named(celsius, cause, amount):
    found = short_of(celsius)
    assert found[0] == cause
    assert found[1] == pytest.approx(amount, nan_ok=True)


def test_a_hold_that_cannot_be_told_has_no_cause():
    assert short_of([273.0, 274, 273])[0] == Shortfall.NONE
    assert short_of([120, 135, 120], np.nan)[0] == Shortfall.NONE


def test_each_cycle_has_a_cause_of_its_own():
    good, cold, dip = ([120, *[135] * 6, 120], [120, 131, 132, 120], [120, 135, 133, 135, 135, 120])
    offsets = np.cumsum([0, len(good), len(cold), len(dip)])
    seconds = np.concatenate([10.0 * np.arange(len(one)) for one in (good, cold, dip)])
    traces = traces_of(offsets, seconds, [*good, *cold, *dip])
    low, high, needed = np.full(3, 134.0), np.full(3, 138.0), np.full(3, 30.0)
    found = find_shortfalls(traces, find_hold(traces, low, high), low, high, needed)
    causes = [Shortfall.NONE, Shortfall.NEVER_HOT_ENOUGH, Shortfall.TOO_COLD_BETWEEN]
    assert found.causes.tolist() == causes
    assert found.amounts.tolist() == pytest.approx([np.nan, 2, 1], nan_ok=True)
