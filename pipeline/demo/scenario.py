"""What is bound to happen in the invented network, beside what happens by chance.

The table is for 24 sites and counts days back from the last one; a larger network repeats it in
each block of 24 sites, a smaller one has the rows of the sites that it has. Steps of the pipeline
never see it: they must find these things in the logs.
"""

from dataclasses import dataclass
from enum import Enum

BLOCK = 24


class Kind(Enum):
    """What happens; where `since_days` matters, it says when."""

    WEARS = "a part wears until the last day, where it reaches `level`; 1 is worn out"
    FORGETS = "no spore test is done any more"
    GROWS = "the spore test of that week grows, and nobody repeats it"
    GROWS_CLEARED = "the spore test of that week grows, and the repeat is clear"
    MOVES = "the unit goes to another site"
    LENT = "the unit is a loaner that arrived then"
    RETIRES = "an older unit was taken out then, and this one came in its place"
    RESET = "the counter starts again at one"
    CLOCK = "the unit's clock runs an hour fast"
    SILENT = "the site sends nothing any more"
    LITTLE = "the site is open one day a week"
    OPENS = "the site opens"
    HANDS = "people stop far more cycles by hand, and forget more tests"
    LATE = "upkeep is done late, and later as time goes by"
    EXPIRED = "the site uses up a lot of indicators past its date"
    SHORT = "the last cycles said complete held for less than their program asks"
    AIR = "in the last cycles said complete air was left, 2.8 K below saturated steam"
    ECHO = "the log prints what was asked for, not what was measured"
    COPY = "the last cycles of a program print the record of the first of them again"
    FAHRENHEIT = "readings of the last cycles are in degrees Fahrenheit"
    GAUGE = "readings of the last cycles are gauge pressures"
    DROPPED = "samples of the last cycles are lost within the hold"
    FROZEN = "the probe stands still from the middle of the hold in the last cycles"
    JUMP = "the clock goes back half a minute within the last cycles' readings"


@dataclass(frozen=True)
class Scenario:
    """One row of the table; slot 0 means the whole site."""

    position: int
    slot: int
    kind: Kind
    since_days: int = 0
    component: str = ""
    level: float = 0.0
    to_position: int = 0


SCENARIOS = (
    # Failing: parts beyond their end, equipment stops in clusters, and nobody has called yet.
    Scenario(2, 3, Kind.WEARS, 75, "gasket", 1.50),
    Scenario(5, 3, Kind.WEARS, 60, "heater", 1.70),
    Scenario(8, 1, Kind.WEARS, 65, "pump", 1.45),
    # Drifting: to be seen in the logged values, not in the stops.
    Scenario(0, 1, Kind.WEARS, 120, "pump", 0.60),
    Scenario(3, 3, Kind.WEARS, 130, "heater", 0.60),
    Scenario(8, 4, Kind.WEARS, 150, "probe", 0.60),
    Scenario(12, 2, Kind.WEARS, 140, "filter", 0.62),
    Scenario(20, 1, Kind.WEARS, 110, "gasket", 0.60),
    # Spore tests.
    Scenario(1, 2, Kind.GROWS, 12),
    Scenario(7, 1, Kind.GROWS_CLEARED, 40),
    Scenario(3, 1, Kind.FORGETS, 20),
    Scenario(7, 3, Kind.FORGETS, 12),
    Scenario(19, 0, Kind.EXPIRED, 90),
    # Units that come, go and mislead.
    Scenario(10, 3, Kind.MOVES, 100, to_position=15),
    Scenario(18, 4, Kind.LENT, 24),
    Scenario(12, 4, Kind.RETIRES, 150),
    Scenario(6, 2, Kind.RESET, 200),
    Scenario(13, 2, Kind.CLOCK, 40),
    # Cycles said complete that were not as their program asks, and readings gone wrong.
    Scenario(0, 2, Kind.SHORT, 9),
    Scenario(5, 1, Kind.AIR, 9),
    Scenario(2, 1, Kind.ECHO),
    Scenario(3, 2, Kind.COPY, 9),
    Scenario(1, 1, Kind.FAHRENHEIT, 9),
    Scenario(1, 3, Kind.GAUGE, 9),
    Scenario(5, 2, Kind.DROPPED, 9),
    Scenario(6, 1, Kind.FROZEN, 9),
    Scenario(7, 2, Kind.JUMP, 9),
    # Sites.
    Scenario(21, 0, Kind.SILENT, 13),
    Scenario(16, 0, Kind.LITTLE),
    Scenario(19, 0, Kind.OPENS, 300),
    Scenario(6, 0, Kind.HANDS),
    Scenario(11, 0, Kind.LATE),
    Scenario(13, 0, Kind.LATE),
    Scenario(17, 0, Kind.LATE),
)


def scenarios_of(site_index: int, slot: int = 0) -> dict[Kind, Scenario]:
    """What is bound to happen to a unit, or with slot 0 to a site as a whole."""
    position = site_index % BLOCK
    return {one.kind: one for one in SCENARIOS if (one.position, one.slot) == (position, slot)}
