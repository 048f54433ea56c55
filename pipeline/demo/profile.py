"""Readings of sampled cycles: pressure through the phases, and temperature by saturation.

In the hold the chamber is full of steam, so the temperature is that of saturation, with what a
worn probe or air from a worn gasket takes off it. Before, part of the pressure is air (Dalton);
afterwards the hot walls keep a chamber under vacuum warmer than its pressure says.
"""

import numpy as np
import polars as pl

from pipeline.demo.faults import Phase
from pipeline.demo.streams import Floats, Whole
from pipeline.physics.steam import saturation_celsius, saturation_kpa

STEP_SECONDS = 5
_FAULT_SECONDS = 30
_LOWEST_KPA = 0.62
"""Just above where the saturation line ends."""


def readings_of(
    rng: np.random.Generator, cycles: pl.DataFrame, atmosphere_kpa: float
) -> pl.DataFrame:
    """One row a sample of these cycles, which all have steam; none for an empty table."""
    at, pressure, steam, wall = _knots(cycles, atmosphere_kpa)
    duration = (cycles["ended"] - cycles["started"]).dt.total_seconds().to_numpy()
    counts = duration // STEP_SECONDS + 1
    row = np.repeat(np.arange(len(cycles)), counts)
    elapsed = STEP_SECONDS * (np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts))
    knot, share = _place(at, row, elapsed)
    kpa = _between(pressure, row, knot, share)
    bounds = cycles.select(pl.col(r"^_bound_\d$")).to_numpy()
    is_hold = (elapsed >= bounds[row, Phase.HOLD]) & (elapsed <= bounds[row, Phase.EXHAUST])
    held = saturation_kpa(_held_celsius(cycles, row, elapsed, duration))
    kpa = np.where(is_hold, held, kpa)
    fraction = np.where(is_hold, 1.0, _between(steam, row, knot, share))
    saturated = saturation_celsius(np.maximum(kpa * fraction, _LOWEST_KPA))
    celsius = np.maximum(saturated, np.where(is_hold, 0.0, _between(wall, row, knot, share)))
    celsius = celsius + cycles["_offset_kelvin"].to_numpy()[row] + rng.normal(0, 0.03, len(row))
    return pl.DataFrame(
        {
            "unit_serial": cycles["unit_serial"].gather(row),
            "cycle_number": cycles["cycle_number"].gather(row),
            "started": cycles["started"].gather(row),
            "elapsed_seconds": elapsed,
            "chamber_celsius": np.round(celsius, 2),
            "chamber_kpa": np.round(kpa, 2),
        }
    )


def _knots(cycles: pl.DataFrame, atmosphere_kpa: float) -> tuple[Floats, ...]:
    """Times, pressures, shares of steam and wall temperatures; a row a cycle, a column a knot."""
    bounds = cycles.select(pl.col(r"^_bound_\d$")).to_numpy()
    air, heat, hold, out, dry, vent, end = (bounds[:, phase] for phase in range(1, 8))
    pulse = (heat - air) / 6
    plateau = cycles["_plateau_celsius"].to_numpy()
    full = saturation_kpa(plateau)
    outside = atmosphere_kpa
    has_vacuum = cycles["_has_vacuum"].to_numpy()
    low = np.where(has_vacuum, cycles["_depth_kpa"].to_numpy(), outside + 4)
    high = np.where(has_vacuum, 130.0, outside + 14)
    dry_kpa = np.where(has_vacuum, 14.0, outside)
    knots: list[tuple[object, object, float, object]] = [
        # seconds, kPa, share of steam, wall in °C
        (0, outside, 0.02, 48),
        (air, outside, 0.02, 52),
        (air + pulse, low + 6, 0.05, 58),
        (air + 2 * pulse, high, 0.60, 74),
        (air + 3 * pulse, low + 2, 0.85, 82),
        (air + 4 * pulse, high + 10, 0.96, 90),
        (heat, low, 0.985, 96),
        (hold, full, 1, plateau - 4),
        (out, full, 1, plateau - 3),
        (dry, outside + 3, 1, plateau - 14),
        (dry + 0.2 * (vent - dry), dry_kpa, 1, 104),
        (vent, dry_kpa, 0.3, 88),
        (end, outside, 0.05, 80),
    ]
    count = len(cycles)
    return tuple(
        np.column_stack([np.broadcast_to(np.asarray(knot[part], float), count) for knot in knots])
        for part in range(4)
    )


def _place(at: Floats, row: Whole, elapsed: Whole) -> tuple[Whole, Floats]:
    """The knot before each sample, and how far the sample is on the way to the next, 0-1."""
    knot = (elapsed[:, None] >= at[row, 1:-1]).sum(axis=1)
    begins, ends = at[row, knot], at[row, knot + 1]
    share = (elapsed - begins) / np.maximum(ends - begins, 1e-9)
    return knot, np.clip(share, 0, 1)


def _between(values: Floats, row: Whole, knot: Whole, share: Floats) -> Floats:
    return values[row, knot] + share * (values[row, knot + 1] - values[row, knot])


def _held_celsius(cycles: pl.DataFrame, row: Whole, elapsed: Whole, duration: Whole) -> Floats:
    """The steam's temperature in the hold: it swings about the plateau, and a fault ends it."""
    swing = cycles["_ripple_kelvin"].to_numpy()[row]
    period = 34 + 3 * (row % 5)
    celsius = cycles["_plateau_celsius"].to_numpy()[row]
    celsius = celsius + swing * np.sin(2 * np.pi * elapsed / period + row % 7)
    leaving = np.clip(1 - (duration[row] - elapsed) / _FAULT_SECONDS, 0, 1)
    return celsius + cycles["_fault_kelvin"].to_numpy()[row] * leaving
