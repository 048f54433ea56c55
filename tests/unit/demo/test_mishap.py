"""What is scripted to go wrong with single cycles, looked for in the logs as a reader would."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from pipeline.demo import programs
from pipeline.demo.mishap import TRACE_FAULTS, damaged
from pipeline.demo.profile import readings_of
from pipeline.demo.scenario import SCENARIOS, Kind
from pipeline.demo.streams import Draws, stream
from pipeline.demo.tell import tell
from pipeline.demo.truth import truth_of_unit
from pipeline.demo.unit import units_of
from pipeline.demo.window import Window
from pipeline.physics.steam import saturation_celsius

ENDS_ON = date(2026, 10, 31)
WINDOW = Window.of_months(ENDS_ON, 3)
OUTSIDE_KPA = 101.2
HOLDS = {one.name: one.hold_seconds for one in programs.PROGRAMS}


@pytest.fixture(scope="module")
def told():
    """The story of the unit that each mishap is bound to happen to, by its kind."""
    found = {}
    for row in SCENARIOS:
        units = units_of(row.position, 24, WINDOW)
        if row.kind.name.lower() in (*TRACE_FAULTS, "short", "air", "echo", "copy"):
            unit = next(one for one in units if one.slot == row.slot)
            found[row.kind] = tell(2026, unit, WINDOW)
    return found


def hit(told, kind):
    return told[kind].cycles.filter(pl.col("_mishap") == kind.name.lower())


def test_every_mishap_is_bound_to_a_unit_and_the_truth_names_its_last_cycles(told):
    assert len(told) == 9
    for kind, one in told.items():
        numbers = hit(told, kind)["cycle_number"].to_list()
        assert truth_of_unit(one)["mishaps"] == {kind.name.lower(): numbers}
        since = ENDS_ON - timedelta(days=9)
        if kind is Kind.ECHO:
            assert len(numbers) > 50
        else:
            assert len(numbers) == 4
            assert hit(told, kind)["started"].dt.date().min() > since


def test_a_short_hold_is_said_complete_and_is_shorter_than_asked(told):
    cycles = hit(told, Kind.SHORT)
    asked = cycles["program"].replace_strict(HOLDS)
    assert (cycles["outcome"] == "complete").all()
    assert (cycles["hold_seconds"] < asked - 30).all()
    assert (cycles["_bound_4"] - cycles["_bound_3"] == cycles["hold_seconds"]).all()


def test_air_that_is_left_keeps_the_temperature_above_what_was_asked_but_off_the_pressure(told):
    cycles = hit(told, Kind.AIR)
    assert (cycles["hold_min_celsius"] >= cycles["set_celsius"]).all()
    off = cycles["hold_min_celsius"].to_numpy() - saturation_celsius(cycles["hold_min_kpa"])
    assert (off < -2.3).all()


def test_an_echo_prints_what_was_asked_in_every_complete_load_cycle(told):
    cycles = told[Kind.ECHO].cycles.filter(
        (pl.col("outcome") == "complete") & pl.col("load_id").is_not_null() & pl.col("_has_steam")
    )
    assert (cycles["hold_min_celsius"] == cycles["set_celsius"]).all()
    assert (cycles["hold_seconds"] == cycles["program"].replace_strict(HOLDS)).all()


def test_a_record_that_is_printed_again_says_the_same_of_each_run_of_one_program(told):
    cycles = hit(told, Kind.COPY)
    lasted = cycles["ended"] - cycles["started"]
    assert lasted.n_unique() == cycles["program"].n_unique() == 1
    for name in ("hold_seconds", "hold_min_celsius", "hold_max_kpa", "heat_up_seconds"):
        assert cycles[name].null_count() == 0
        assert cycles[name].n_unique() == 1
    assert cycles["cycle_number"].n_unique() == cycles["started"].n_unique() == len(cycles)
    later = told[Kind.COPY].cycles.filter(pl.col("started") > cycles["started"].max())
    of_program = later.filter(pl.col("program") == cycles["program"][0])
    assert (of_program["outcome"] != "complete").all()


def test_no_other_complete_cycle_breaks_what_its_program_asks(told):
    for one in told.values():
        cycles = one.cycles.filter(
            pl.col("_has_steam") & (pl.col("outcome") == "complete") & pl.col("_mishap").is_null()
        )
        assert len(cycles) > 20
        assert (cycles["hold_min_celsius"] > cycles["set_celsius"]).all()
        assert (cycles["hold_seconds"] >= cycles["program"].replace_strict(HOLDS)).all()
        assert cycles["_offset_kelvin"].abs().max() < 2


@pytest.fixture(scope="module")
def traces(told):
    """Readings of the cycles hit by each fault: as they were, and as they were logged."""
    found = {}
    for kind in told:
        if kind.name.lower() in TRACE_FAULTS:
            cycles = hit(told, kind)
            true = readings_of(stream(7, Draws.TRACE, 0), cycles, OUTSIDE_KPA)
            found[kind] = (true, damaged(true, cycles, OUTSIDE_KPA), cycles)
    return found


def test_readings_in_another_unit_of_measure_are_the_same_readings(traces):
    true, logged, _ = traces[Kind.FAHRENHEIT]
    back = (logged["chamber_celsius"].to_numpy() - 32) / 1.8
    assert np.allclose(back, true["chamber_celsius"], atol=0.01)
    true, logged, _ = traces[Kind.GAUGE]
    assert np.allclose(logged["chamber_kpa"] + OUTSIDE_KPA, true["chamber_kpa"], atol=0.01)


def test_lost_samples_leave_a_pause_within_the_hold_and_nothing_else(traces):
    true, logged, cycles = traces[Kind.DROPPED]
    assert 17 * len(cycles) <= len(true) - len(logged) <= 19 * len(cycles)
    assert logged.join(true, on=logged.columns, how="anti").is_empty()


def test_a_frozen_probe_stands_still_while_the_pressure_falls(traces):
    _, logged, cycles = traces[Kind.FROZEN]
    for number, ends in cycles.select("cycle_number", "_bound_4").iter_rows():
        late = logged.filter(
            (pl.col("cycle_number") == number) & (pl.col("elapsed_seconds") > ends)
        )
        assert late["chamber_celsius"].n_unique() == 1
        assert late["chamber_kpa"].max() - late["chamber_kpa"].min() > 50


def test_a_clock_that_jumps_goes_back_once_a_cycle(traces):
    _, logged, cycles = traces[Kind.JUMP]
    steps = logged.select(pl.col("elapsed_seconds").diff().over("cycle_number")).to_series()
    assert (steps.drop_nulls() < 0).sum() == len(cycles)
