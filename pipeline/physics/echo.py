"""Printed values that are only what was set: an echo of the program is no evidence of a cycle."""

from dataclasses import dataclass

import numpy as np

from pipeline.physics.reason import Flags, Floats, Whole

LEAST_CYCLES = 12
"""A true value in steps of 0.1 K hits one mark by chance, twelve times running it does not."""
_SAME = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Echoes:
    """One entry a group of cycles, one unit in one program.

    `is_echo` is true when no value differs from what was set; `is_flat` when none differs from the
    others, set or not; `cycle_count` is how many cycles had both.
    """

    is_echo: Flags
    is_flat: Flags
    cycle_count: Whole


def find_echoes(
    groups: Whole, group_count: int, values: Floats, set_values: Floats, least: int = LEAST_CYCLES
) -> Echoes:
    """Compare a logged value with the one that was set, cycle by cycle, in groups 0, 1, 2 ...

    Fewer cycles than `least` are never called an echo. What is not logged does not count.
    """
    is_logged = ~np.isnan(values)
    is_both = is_logged & ~np.isnan(set_values)
    counts = np.bincount(groups[is_both], minlength=group_count)
    equal = np.bincount(
        groups[is_both & (np.abs(values - set_values) <= _SAME)], minlength=group_count
    )
    lowest, highest = np.full(group_count, np.inf), np.full(group_count, -np.inf)
    np.minimum.at(lowest, groups[is_logged], values[is_logged])
    np.maximum.at(highest, groups[is_logged], values[is_logged])
    logged = np.bincount(groups[is_logged], minlength=group_count)
    is_flat = (logged >= least) & (highest - lowest <= _SAME)
    return Echoes((counts >= least) & (equal == counts), is_flat, counts)
