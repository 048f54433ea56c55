"""The programs of the invented units: temperature, hold, drying, and who runs which how often.

Times at temperature are no shorter than the published minimum for the way of air removal: CDC,
Guideline for Disinfection and Sterilization in Healthcare Facilities (2008), table 7, for gravity;
the 3 min at 134 °C of European practice, with a margin, for the others. The mix is invented.
"""

from dataclasses import dataclass
from math import nan

import numpy as np

from pipeline.demo.streams import Floats


@dataclass(frozen=True)
class Program:
    """Seconds and degrees that the program asks for; no temperature means no steam."""

    name: str
    set_celsius: float
    hold_seconds: int
    drying_seconds: int
    load_kind: str = ""


PROGRAMS = (
    Program("wrapped_134", 134, 240, 960, "instruments"),
    Program("pouch", 134, 240, 840, "instruments"),
    Program("porous", 134, 240, 1140, "textiles"),
    Program("hollow", 134, 240, 1020, "hollow instruments"),
    Program("unwrapped_134", 134, 210, 150, "instruments"),
    Program("immediate_use", 134, 240, 0, "instruments"),
    Program("prion_18", 134, 1080, 960, "instruments"),
    Program("wrapped_121", 121, 1800, 1260, "instruments"),
    Program("unwrapped_121", 121, 960, 180, "instruments"),
    Program("drying_only", nan, 0, 900),
    Program("test_steam_penetration", 134, 210, 60),
    Program("test_leak", nan, 0, 0),
)
INDEX = {program.name: index for index, program in enumerate(PROGRAMS)}

_MIX: dict[str, dict[str, float]] = {
    "prevacuum": {"wrapped_134": 46, "pouch": 30, "hollow": 9, "porous": 6, "unwrapped_134": 7,
                  "immediate_use": 0.6, "prion_18": 1, "drying_only": 0.4},
    "steam_flush": {"wrapped_134": 50, "pouch": 35, "unwrapped_134": 14, "drying_only": 1},
    "gravity": {"wrapped_121": 72, "unwrapped_121": 27, "drying_only": 1},
}  # fmt: skip


def mix(air_removal: str) -> Floats:
    """Share of each program among the runs that are not tests, in the order of PROGRAMS."""
    weights = np.array([_MIX[air_removal].get(program.name, 0.0) for program in PROGRAMS])
    return weights / weights.sum()
