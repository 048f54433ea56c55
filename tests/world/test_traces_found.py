"""Phases, holds and verdicts found in the readings of invented units, whole and damaged."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from pipeline.demo.faults import Phase as Truth
from pipeline.demo.profile import STEP_SECONDS, readings_of
from pipeline.demo.programs import INDEX, PROGRAMS
from pipeline.demo.streams import Draws, stream
from pipeline.demo.tell import tell
from pipeline.demo.unit import units_of
from pipeline.demo.window import Window
from pipeline.physics.evidence import from_readings
from pipeline.physics.measured import measure
from pipeline.physics.phases import Phase
from pipeline.physics.reason import Reason
from pipeline.physics.samples import traces_of
from pipeline.physics.verdict import Limit, Limits, Verdict, judge

WINDOW = Window.of_months(date(2026, 10, 31), 6)
AIR_KPA = 101.2
PHASES = {
    Phase.AIR_REMOVAL: Truth.AIR_REMOVAL,
    Phase.HEAT_UP: Truth.HEAT_UP,
    Phase.HOLD: Truth.HOLD,
    Phase.EXHAUST: Truth.EXHAUST,
    Phase.DRYING: Truth.DRYING,
    Phase.VENT: Truth.VENT,
}


class Net:
    """Complete cycles with steam of a few healthy units, and their readings in columns."""

    def __init__(self, slots):
        units = {unit.slot: unit for unit in units_of(0, 24, WINDOW)}
        told = [tell(2026, units[slot], WINDOW).cycles for slot in slots]
        is_good = pl.col("_has_steam") & (pl.col("outcome") == "complete")
        self.cycles = pl.concat([one.filter(is_good)[:250] for one in told])
        rows = readings_of(stream(2026, Draws.TRACE, 0), self.cycles, AIR_KPA)
        self.lasted = (self.cycles["ended"] - self.cycles["started"]).dt.total_seconds().to_numpy()
        self.offsets = np.concatenate([[0], np.cumsum(self.lasted // STEP_SECONDS + 1)])
        names = ("elapsed_seconds", "chamber_celsius", "chamber_kpa")
        self.columns = [rows[name].to_numpy().astype(float) for name in names]
        self.low = self.cycles["set_celsius"].to_numpy()
        programs = [PROGRAMS[INDEX[name]] for name in self.cycles["program"]]
        self.needed = np.array([float(one.hold_seconds) for one in programs])

    def look(self, seconds=None, celsius=None, kpa=None, keep=None):
        """What is measured, and the verdicts, with some columns or samples replaced."""
        given = (seconds, celsius, kpa)
        columns = [b if a is None else a for a, b in zip(given, self.columns, strict=True)]
        offsets = self.offsets
        if keep is not None:
            offsets = np.searchsorted(np.flatnonzero(keep), offsets)
            columns = [one[keep] for one in columns]
        size = len(self.low)
        traces = traces_of(offsets, *columns)
        high, nothing = self.low + 4, np.full(size, np.nan)
        found = measure(traces, self.low, high, np.full(size, AIR_KPA))
        evidence = from_readings(traces, found, self.low, high, self.needed, self.lasted * 1.0)
        kelvin = np.full(size, 2.0)
        limits = Limits(self.needed, self.low, high, kelvin, nothing, nothing, nothing)
        return found, judge(evidence, limits)

    def held(self):
        """For each sample whether it lies in the true hold, and how far it is into it, 0 to 1."""
        lengths = np.diff(self.offsets)
        begins, ends = (
            np.repeat(self.cycles[f"_bound_{phase:d}"].to_numpy(), lengths)
            for phase in (Truth.HOLD, Truth.EXHAUST)
        )
        share = (self.columns[0] - begins) / (ends - begins)
        return (share >= 0) & (share <= 1), share


@pytest.fixture(scope="module")
def net():
    return Net((1, 2))


@pytest.fixture(scope="module")
def gravity():
    return Net((3,))


def share_found(net, phase):
    found, _ = net.look()
    truth = net.cycles[f"_bound_{PHASES[phase]:d}"].to_numpy()
    return np.mean(np.abs(found.phases.begin_seconds[:, phase] - truth) <= STEP_SECONDS)


@pytest.mark.parametrize("phase", PHASES, ids=lambda phase: phase.name)
def test_phases_of_vacuum_cycles_are_found_within_a_sample(net, phase):
    assert share_found(net, phase) >= 0.99


@pytest.mark.parametrize(
    "phase", [one for one in PHASES if one != Phase.VENT], ids=lambda p: p.name
)
def test_phases_of_gravity_cycles_are_found_within_a_sample(gravity, phase):
    assert share_found(gravity, phase) >= 0.99


def test_vacuum_pulses_are_counted(net):
    found, _ = net.look()
    assert np.mean(found.phases.pulse_count == 3) >= 0.99


@pytest.mark.parametrize("fixture", ["net", "gravity"])
def test_no_clean_cycle_is_accused(request, fixture):
    _, verdicts = request.getfixturevalue(fixture).look()
    assert np.unique(verdicts.verdicts).tolist() == [Verdict.MEETS]


def test_a_cold_stretch_in_every_hold_is_found(net):
    is_held, share = net.held()
    celsius = np.where(is_held & (share > 0.4) & (share < 0.6), 132.0, net.columns[1])
    _, verdicts = net.look(celsius=celsius)
    assert np.unique(verdicts.broken).tolist() == [Limit.TOO_COLD_BETWEEN]


def test_air_in_every_hold_is_found(net):
    """10 % of air takes 3.5 K off the temperature that the pressure asks for (Dalton)."""
    is_held, _ = net.held()
    _, verdicts = net.look(kpa=np.where(is_held, net.columns[2] * 1.11, net.columns[2]))
    assert np.unique(verdicts.broken).tolist() == [Limit.BELOW_THEORY]


def test_a_hold_cut_short_is_found(net):
    _, share = net.held()
    _, verdicts = net.look(celsius=np.where(share > 0.7, 125.0, net.columns[1]))
    assert set(np.unique(verdicts.broken)) <= {Limit.HOLD_TOO_SHORT, Limit.HOLD_NOT_SHOWN}
    assert (verdicts.verdicts == Verdict.BREAKS).all()


@pytest.mark.parametrize(
    ("damage", "reasons"),
    [
        ("gap", {Reason.GAP}),
        ("torn", {Reason.CUT}),
        ("clock", {Reason.TIME_DOUBTFUL}),
        ("fahrenheit", {Reason.UNIT_SLIP}),
        ("gauge", {Reason.UNIT_SLIP}),
        ("blind", {Reason.KPA_DOUBTFUL}),
    ],
)
def test_a_damaged_trace_is_neither_passed_nor_accused(net, damage, reasons):
    seconds, celsius, kpa = net.columns
    is_held, share = net.held()
    changes = {
        "gap": {"keep": ~(is_held & (share > 0.3) & (share < 0.7))},
        "torn": {"keep": share < 0.5},
        "clock": {"seconds": np.where(share > 0.5, seconds - 60, seconds)},
        "fahrenheit": {"celsius": celsius * 1.8 + 32},
        "gauge": {"kpa": kpa - AIR_KPA},
        "blind": {"kpa": np.where(is_held, np.nan, kpa)},
    }[damage]
    _, verdicts = net.look(**changes)
    assert np.unique(verdicts.verdicts).tolist() == [Verdict.CANNOT_TELL]
    assert set(verdicts.reasons) == reasons


def test_every_tenth_sample_may_be_lost_without_a_doubt(net):
    keep = np.arange(len(net.columns[0])) % 10 != 3
    _, verdicts = net.look(keep=keep)
    assert (verdicts.verdicts == Verdict.BREAKS).sum() == 0
    assert np.mean(verdicts.verdicts == Verdict.MEETS) >= 0.7
