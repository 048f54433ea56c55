"""Everything at once on anything at all: nothing raises, warns, or tells what cannot be known."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.physics.evidence import from_readings
from pipeline.physics.measured import measure
from pipeline.physics.phases import Phase
from pipeline.physics.reason import Reason
from pipeline.physics.samples import traces_of
from pipeline.physics.steam import saturation_celsius
from pipeline.physics.verdict import Limits, Verdict, judge

NASTY = st.sampled_from([np.nan, np.inf, -np.inf, 0.0, -300.0, 1e300, 134.0])
SAMPLES = st.tuples(
    st.one_of(st.integers(-5, 50).map(float), NASTY),
    st.one_of(st.floats(20, 140), NASTY),
    st.one_of(st.floats(1, 350), NASTY),
)
GOOD = [
    (5.0 * at, celsius, kpa)
    for at, (celsius, kpa) in enumerate(
        [(40, 101), (50, 20), (80, 130), (70, 10), (110, 150), *[(134.5, 308)] * 12, (110, 140)]
        + [(100, 103), (90, 14), (90, 14), (85, 101)]
    )
]
CYCLES = st.lists(
    st.one_of(
        st.lists(SAMPLES, max_size=8),
        st.lists(SAMPLES, max_size=2).map(lambda some: GOOD[:9] + some + GOOD[9:]),
    ),
    min_size=1,
    max_size=5,
)


def measured(cycles):
    offsets = np.cumsum([0, *(len(one) for one in cycles)])
    rows = np.array([row for one in cycles for row in one]).reshape(-1, 3)
    size = len(cycles)
    traces = traces_of(offsets, *rows.T)
    asked = [np.full(size, value) for value in (134.0, 138.0, 101.325)]
    return traces, measure(traces, *asked, np.arange(size) % 2 == 0)


def judged(traces, found, needed=50.0):
    size = len(traces)
    low, high, hold_seconds = (np.full(size, value) for value in (134.0, 138.0, needed))
    nothing = np.full(size, np.nan)
    evidence = from_readings(traces, found, low, high, hold_seconds)
    limits = Limits(hold_seconds, low, high, np.full(size, 2.0), nothing, nothing, nothing)
    return judge(evidence, limits)


def figures(found):
    """Every array of figures of every part, by name; indices of samples are left out."""
    for part in dataclasses.fields(found):
        values = getattr(found, part.name)
        for field in dataclasses.fields(values):
            column = getattr(values, field.name)
            if isinstance(column, np.ndarray) and column.dtype == np.float64:
                yield f"{part.name}.{field.name}", column


@given(CYCLES)
def test_whatever_the_samples_are_a_figure_with_a_reason_is_not_a_number(cycles):
    traces, found = measured(cycles)
    for part, name in (
        (found.lethality, "minutes"),
        (found.hold, "sure_seconds"),
        (found.leak, "kpa_per_minute"),
    ):
        is_told = part.reasons == Reason.NONE
        assert np.array_equal(np.isnan(getattr(part, name)), ~is_told)
    assert np.isnan(found.phases.begin_seconds[found.phases.reasons != Reason.NONE]).all()
    is_doubtful = traces.reasons() != Reason.NONE
    assert (judged(traces, found).verdicts[is_doubtful] == Verdict.CANNOT_TELL).all()
    assert np.isfinite(found.lethality.minutes[found.lethality.reasons == Reason.NONE]).all()


@given(CYCLES, st.randoms())
def test_in_another_order_or_alone_a_cycle_has_the_very_same_figures(cycles, random):
    order = random.sample(range(len(cycles)), len(cycles))
    # The leak tests are every other one, so pairs are kept together.
    order = [place for at in order if at % 2 == 0 for place in (at, at + 1) if place < len(cycles)]
    if len(cycles) % 2:
        order = [place for place in order if place != len(cycles) - 1] + [len(cycles) - 1]
    before = dict(figures(measured(cycles)[1]))
    for name, column in figures(measured([cycles[place] for place in order])[1]):
        assert np.array_equal(column, before[name][order], equal_nan=True), name


@given(st.integers(-100_000, 100_000))
def test_when_it_was_changes_no_length(shift):
    moved = [(at + shift, celsius, kpa) for at, celsius, kpa in GOOD]
    before, after = (dict(figures(measured([one])[1])) for one in (GOOD, moved))
    before.pop("phases.begin_seconds")
    for name, column in before.items():
        assert after[name] == pytest.approx(column, nan_ok=True, rel=1e-9), name


def test_the_time_in_the_heat_goes_on_where_the_band_was_left_upwards():
    hotter = [(at, 139 if at == 50 else celsius, kpa) for at, celsius, kpa in GOOD]
    _, found = measured([hotter, GOOD])
    assert found.wear.hot_seconds.tolist() == [55, 55]
    assert found.hold.sure_seconds.tolist() == [25, 55]


def test_a_good_cycle_meets_and_shows_its_wear():
    traces, found = measured([GOOD])
    assert judged(traces, found).verdicts.tolist() == [Verdict.MEETS]
    wear = found.wear
    assert wear.hot_seconds.tolist() == [55]
    assert wear.depth_kpa.tolist() == [10]
    assert wear.overshoot_kelvin.tolist() == [0.5]
    assert wear.reading_count.tolist() == [len(GOOD)]
    assert wear.total_seconds.tolist() == [5.0 * (len(GOOD) - 1)]
    assert wear.mid_hold_kelvin[0] == pytest.approx(134.5 - saturation_celsius(308))


@pytest.mark.parametrize("needed", [55.0, 55.1])
def test_the_verdict_turns_where_the_sure_hold_ends(needed):
    traces, found = measured([GOOD])
    meets = judged(traces, found, needed).verdicts[0] == Verdict.MEETS
    assert meets == (needed <= 55)


def test_drying_without_a_vacuum_ends_with_the_trace():
    gravity = [(at, celsius, max(kpa, 101.0)) for at, celsius, kpa in GOOD]
    _, found = measured([gravity])
    drying = found.phases.begin_seconds[0, Phase.DRYING]
    assert found.wear.drying_seconds[0] == GOOD[-1][0] - drying


def test_pressure_on_the_gauge_is_no_wear():
    on_gauge = [(at, celsius, kpa - 101.325) for at, celsius, kpa in GOOD]
    traces, found = measured([on_gauge])
    assert np.isnan(found.wear.mid_hold_kelvin[0])
    assert judged(traces, found).reasons.tolist() == [Reason.UNIT_SLIP]
