"""What a cycle must have reached, as frozen values: by table of a jurisdiction, or for one unit."""

from dataclasses import dataclass
from datetime import date

AIR_REMOVALS = ("gravity", "prevacuum", "steam_flush")
WRAPS = ("unwrapped", "wrapped", "textile", "liquid", "prion", "penetration_test")
CONFIDENCES = ("read", "reported", "memory", "common_practice", "derived")
LOWER_EDGES = ("set", "table")
FIGURES = ("band_kelvin", "spread_kelvin", "saturation_kelvin", "leak_kpa_per_minute")
"""Limits that hold for every row of a table, where it gives them."""

KINDS: dict[str, tuple[str, float | None]] = {
    "unwrapped_121": ("unwrapped", 121.0),
    "unwrapped_134": ("unwrapped", 134.0),
    "immediate_use": ("unwrapped", None),
    "wrapped_121": ("wrapped", 121.0),
    "wrapped_134": ("wrapped", 134.0),
    "pouch": ("wrapped", None),
    "hollow": ("wrapped", None),
    "porous": ("textile", None),
    "liquids": ("liquid", None),
    "prion_18": ("prion", 134.0),
    "test_steam_penetration": ("penetration_test", None),
    "test_leak": ("leak_test", None),
}
"""The kinds of program that are judged: the wrap, and the temperature where the name says one.

Which wrap a kind stands for is common practice, no source.
"""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number with where it is from and how well that was confirmed; None for a mere rule."""

    value: float | None
    source: str
    confidence: str


@dataclass(frozen=True, slots=True)
class Program:
    """The least that is asked of one way of removing air, one wrap and one temperature."""

    air_removal: str
    wrap: str
    celsius: float
    hold_seconds: float
    drying_seconds: float | None
    source: str
    confidence: str


@dataclass(frozen=True, slots=True)
class ProgramTable:
    """The programs of a jurisdiction and the limits that hold for all of them.

    `practices` are the profiles that follow it. `figures` holds lower_edge and as many of FIGURES
    as are given.
    """

    name: str
    title: str
    practices: tuple[str, ...]
    reviewed_on: date
    lower_edge: str
    needs_penetration_time: bool
    figures: dict[str, Figure]
    programs: tuple[Program, ...]

    def limit(self, name: str) -> float | None:
        """The value of one of FIGURES; None where the table gives none."""
        figure = self.figures.get(name)
        return figure.value if figure else None


@dataclass(frozen=True, slots=True)
class ValidatedProgram:
    """A program as it was validated for one unit; it holds from its day until the next one."""

    unit_serial: str
    program: str
    from_on: date
    low_celsius: float
    high_celsius: float | None
    hold_seconds: float
    drying_seconds: float | None
    source: str
