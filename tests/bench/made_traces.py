"""Invented readings by the million, no tidier and no easier to pack than those of the demo.

Written as Parquet, a reading of the demo's warehouse takes 14.5 bits of temperature, 13.5 of
pressure and 1.6 of time; one of these 14.4, 14.1 and 2.5.
"""

import numpy as np
from numpy.typing import NDArray

from pipeline.physics.steam import saturation_celsius

PHASE_SECONDS = [90, 60, 60, 60, 400, 260, 90, 150, 690, 60]
"""Rest, two pulses, heat-up, hold, exhaust, pump, drying, vent; give or take a tenth."""
STEP_SECONDS = [5, 5, 5, 10, 2]
CYCLES_A_UNIT = 60
"""So many follow each other with one step and one pump."""
GAP_SHARE, SHORT_SHARE, AIR_SHARE = 1 / 80, 1 / 100, 1 / 200
SHORT_BY_SECONDS, AIR_KELVIN, LOST_COUNT = 120, 3, 18
_APART_SECONDS = 1e5
"""More than a cycle takes, to lay one after the other on a line."""

Column = NDArray[np.float64] | NDArray[np.int64]


def made_cycles(rng: np.random.Generator, first: int, count: int) -> list[Column]:
    """Number of the cycle, seconds, °C and kPa, sample after sample.

    Some cycles end their hold too early, some have air in them, from some a stretch is lost.
    """
    ends = np.cumsum(rng.uniform(0.9, 1.1, (count, len(PHASE_SECONDS))) * PHASE_SECONDS, axis=1)
    ends[rng.random(count) < SHORT_SHARE, 5:] -= SHORT_BY_SECONDS
    begins = np.arange(count) * _APART_SECONDS
    knots = begins[:, None] + np.column_stack([np.zeros(count), ends])
    unit = np.arange(count) // CYCLES_A_UNIT
    step = rng.choice(STEP_SECONDS, unit[-1] + 1)[unit]
    lengths = (ends[:, -1] // step).astype(int) + 1
    row = np.repeat(np.arange(count), lengths)
    place = np.arange(len(row)) - (np.cumsum(lengths) - lengths)[row]
    elapsed = place * step[row].astype(float)
    at = begins[row] + elapsed
    kpa = _kpa(rng, unit, at, knots).round(2)
    celsius = np.maximum(saturation_celsius(kpa), _wall_celsius(rng, at, knots))
    celsius -= np.where(rng.random(count) < AIR_SHARE, AIR_KELVIN, 0)[row]
    celsius += rng.normal(0, 0.05, len(row))
    lost_from = np.where(rng.random(count) < GAP_SHARE, rng.random(count) * lengths, np.inf)[row]
    is_kept = (place < lost_from) | (place >= lost_from + LOST_COUNT)
    columns = (row + first, elapsed, celsius.round(2), kpa)
    return [column[is_kept] for column in columns]


def _kpa(
    rng: np.random.Generator, unit: NDArray[np.int64], at: Column, knots: Column
) -> NDArray[np.float64]:
    """Straight from knot to knot, at the levels of a unit."""
    units = unit[-1] + 1
    room, deep = rng.uniform(99, 103, units)[unit], rng.uniform(5, 9, units)[unit]
    top = rng.uniform(312, 324, units)[unit]
    deeper = deep + rng.uniform(0, 1, len(unit))
    levels = [room, room, deep, 1.3 * room, deep, top, top, room, deeper, deep, room]
    return np.interp(at, knots.ravel(), np.column_stack(levels).ravel())


def _wall_celsius(rng: np.random.Generator, at: Column, knots: Column) -> NDArray[np.float64]:
    """Of the wall, which heats up from the cold of the morning and cools down while it dries."""
    cold, hot, dried = rng.uniform([[30], [95], [70]], [[60], [110], [85]], (3, len(knots)))
    levels = np.column_stack([cold, hot, hot, dried])
    return np.interp(at, knots[:, [0, 5, 7, 10]].ravel(), levels.ravel())
