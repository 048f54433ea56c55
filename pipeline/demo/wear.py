"""Five parts that wear, cycle by cycle, until somebody renews them.

A level of 0 is new, 1 is worn out. For the length of its life a part hardly changes; then it goes
down a ramp. What a level does to the logged values is in cycles.py, to the stops in faults.py.
Lives are invented: no public figures exist for units of this size.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.demo.streams import Floats

COMPONENTS = ("gasket", "heater", "pump", "filter", "probe")
_QUIET_LEVEL = 0.15


@dataclass(frozen=True)
class Part:
    """How long such a part lasts, in cycles, and how fast it goes when it goes."""

    life_cycles: float
    ramp_cycles: float
    steadiness: float
    """Shape of the Weibull distribution of lives: the higher, the more alike."""


PARTS = {
    "gasket": Part(2200, 260, 5),
    "heater": Part(13_000, 380, 2.5),
    "pump": Part(11_000, 340, 2.5),
    "filter": Part(1500, 240, 5),
    "probe": Part(9000, 420, 2.5),
}


@dataclass(frozen=True)
class Renewal:
    """From this cycle of the plan on, the part has run `used` cycles of its life."""

    at: int
    used: float
    life_cycles: float
    ramp_cycles: float


NO_PART = Renewal(0, 0.0, 1e9, 1.0)
"""In the place of a pump in a unit without one."""


def renewal(rng: np.random.Generator, component: str, at: int, *, is_new: bool) -> Renewal:
    """A part with a life of its own; one that is not new has some of its life behind it."""
    part = PARTS[component]
    life = part.life_cycles * rng.weibull(part.steadiness)
    used = 0.0 if is_new else life * rng.uniform(0, 0.95)
    return Renewal(at, used, life, part.ramp_cycles * rng.uniform(0.7, 1.4))


def level(count: int, renewals: list[Renewal]) -> Floats:
    """The level at each of `count` cycles; the first renewal is at cycle 0."""
    ordered = sorted(renewals, key=lambda one: one.at)
    out = np.empty(count)
    bounds = [one.at for one in ordered[1:]] + [count]
    for one, end in zip(ordered, bounds, strict=True):
        run = np.arange(max(end - one.at, 0)) + one.used
        quiet = _QUIET_LEVEL * np.minimum(run / one.life_cycles, 1)
        out[one.at : end] = quiet + np.maximum(run - one.life_cycles, 0) / one.ramp_cycles
    return out


def worn_from(one: Renewal) -> int:
    """The cycle from which a part is on its ramp; it may never come, or lie before the first."""
    return one.at + int(max(one.life_cycles - one.used, 0))
