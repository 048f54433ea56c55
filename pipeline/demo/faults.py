"""Why cycles stop, in which phase, and how likely each reason is at a given state of wear.

About half of all stops are the equipment's, heavy-tailed by unit, and 1 to 6 % of cycles stop:
common practice, no source. How wear raises a hazard is invented.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from pipeline.demo.streams import Flags, Floats, Whole
from pipeline.demo.wear import COMPONENTS


class Phase(IntEnum):
    """Phases of a run, in order."""

    FILL = 0
    AIR_REMOVAL = 1
    HEAT_UP = 2
    HOLD = 3
    EXHAUST = 4
    DRYING = 5
    VENT = 6


@dataclass(frozen=True)
class Reason:
    """A stop reason in the project's words, its phase, and its share of stops without wear."""

    name: str
    family: str
    phase: Phase
    share: float


REASONS = (
    Reason("operator_stop_before_hold", "operator", Phase.HEAT_UP, 0.20),
    Reason("operator_stop_in_hold", "operator", Phase.HOLD, 0.06),
    Reason("operator_stop_drying", "operator", Phase.DRYING, 0.44),
    Reason("door_not_closed", "operator", Phase.FILL, 0.22),
    Reason("door_opened_early", "operator", Phase.VENT, 0.08),
    Reason("low_water", "utility", Phase.FILL, 0.70),
    Reason("waste_tank_full", "utility", Phase.FILL, 0.18),
    Reason("water_quality_high", "utility", Phase.FILL, 0.12),
    Reason("heat_up_timeout", "equipment", Phase.HEAT_UP, 0.20),
    Reason("vacuum_not_reached", "equipment", Phase.AIR_REMOVAL, 0.20),
    Reason("air_leak", "equipment", Phase.AIR_REMOVAL, 0.08),
    Reason("door_leak", "equipment", Phase.HEAT_UP, 0.11),
    Reason("temp_drop_in_hold", "equipment", Phase.HOLD, 0.08),
    Reason("over_temperature", "equipment", Phase.HOLD, 0.04),
    Reason("over_pressure", "equipment", Phase.HOLD, 0.03),
    Reason("temperature_pressure_mismatch", "equipment", Phase.HOLD, 0.05),
    Reason("sensor_fault", "equipment", Phase.HEAT_UP, 0.06),
    Reason("drying_fault", "equipment", Phase.DRYING, 0.08),
    Reason("vent_fault", "equipment", Phase.EXHAUST, 0.04),
    Reason("drain_blocked", "equipment", Phase.EXHAUST, 0.03),
    # Not drawn by hazard: a dip of the mains stops whatever runs.
    Reason("power_loss", "utility", Phase.HEAT_UP, 0.0),
)
INDEX = {reason.name: index for index, reason in enumerate(REASONS)}
NOT_STOPPED = len(REASONS)
IS_EQUIPMENT = np.array([reason.family == "equipment" for reason in REASONS] + [False])
PHASES = np.array([reason.phase for reason in REASONS] + [Phase.VENT])

_BY_COMPONENT = {
    "gasket": {"air_leak": 0.35, "door_leak": 0.40, "vacuum_not_reached": 0.25},
    "heater": {"heat_up_timeout": 0.8, "temp_drop_in_hold": 0.2},
    "pump": {"vacuum_not_reached": 0.75, "drying_fault": 0.25},
    "filter": {"drying_fault": 0.5, "vent_fault": 0.5},
    "probe": {
        "temperature_pressure_mismatch": 0.5,
        "sensor_fault": 0.25,
        "temp_drop_in_hold": 0.25,
    },
}
_WORN_STOP_SHARE, _TOLERATED_LEVEL = 0.24, 0.62
_VACUUM_REASONS = ("vacuum_not_reached", "air_leak")
_COLD_START, _DRY_START = 1.8, 3.0
"""On a Monday the first run is colder, and the reservoir emptier, than on other days."""


def _share_of_family(family: str) -> Floats:
    return np.array([one.share if one.family == family else 0.0 for one in REASONS])


_COMPONENT_SHARES = np.array(
    [[_BY_COMPONENT[part].get(one.name, 0.0) for one in REASONS] for part in COMPONENTS]
)
_FAMILY_SHARES = {
    family: _share_of_family(family) for family in ("operator", "utility", "equipment")
}


@dataclass(frozen=True)
class Chances:
    """What decides the stops of a unit beside wear; arrays have an entry a run."""

    base_shares: dict[str, float]
    """Of runs, that each family stops without wear."""
    is_monday_start: Flags
    has_vacuum: bool
    has_hold: Flags
    has_drying: Flags


def hazards(levels: Floats, chances: Chances) -> Floats:
    """Probability of each reason for each run: a row a run, a column a reason.

    `levels` has a column a component.
    """
    worn = np.maximum(levels - _TOLERATED_LEVEL, 0) ** 1.5 * _WORN_STOP_SHARE
    out = np.minimum(worn, 0.45) @ _COMPONENT_SHARES
    for family, share in chances.base_shares.items():
        out += share * _FAMILY_SHARES[family]
    out[chances.is_monday_start, INDEX["heat_up_timeout"]] *= _COLD_START
    out[chances.is_monday_start, INDEX["low_water"]] *= _DRY_START
    if not chances.has_vacuum:
        out[:, [INDEX[name] for name in _VACUUM_REASONS]] = 0
    for index, reason in enumerate(REASONS):
        if reason.phase in (Phase.HEAT_UP, Phase.HOLD):
            out[~chances.has_hold, index] = 0
        if reason.phase == Phase.DRYING:
            out[~chances.has_drying, index] = 0
    return out


def draw(uniform: Floats, probabilities: Floats) -> Whole:
    """The reason that each cycle stops for, NOT_STOPPED for most; same numbers, same fate."""
    return (uniform[:, None] >= np.cumsum(probabilities, axis=1)).sum(axis=1)
