"""The units of a site: serials, where they stood when, and what each machine is like."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from pipeline.demo.scenario import BLOCK, Kind, Scenario, scenarios_of
from pipeline.demo.sites import first_serial_number, place
from pipeline.demo.streams import Draws, stream
from pipeline.demo.window import Window

_RETIRED_SLOT = 90
"""Key of the streams of a retired unit, whose slot its successor has."""


@dataclass(frozen=True)
class Stay:
    """A unit at a site from from_on up to, but not on, to_on."""

    site_index: int
    label: str
    from_on: date
    to_on: date | None


@dataclass(frozen=True)
class Unit:
    """One sterilizer, known by its serial; `home` and `slot` are the key of its streams."""

    serial: str
    home: int
    slot: int
    air_removal: str
    stays: tuple[Stay, ...]
    bound: dict[Kind, Scenario]

    @property
    def has_vacuum(self) -> bool:
        """A pump pulls the air out, so there are penetration and leak tests."""
        return self.air_removal == "prevacuum"


@dataclass(frozen=True)
class Machine:
    """What one unit is like when nothing is worn."""

    counter: int
    loads_factor: float
    equipment_stop_share: float
    air_seconds: float
    heat_up_seconds: float
    drying_factor: float
    depth_kpa: float
    leak_kpa_per_minute: float
    offset_kelvin: float
    """Of the temperature probe against the saturation line."""
    drift_sign: float
    water_days: int
    """Between two cartridges of the feed water."""


def units_of(site_index: int, site_count: int, window: Window) -> list[Unit]:
    """The units whose first site this is, in order of their slots."""
    units = []
    site = place(site_index, window.ends_on)
    for slot, air_removal in enumerate(site.air_removals, start=1):
        bound = scenarios_of(site_index, slot)
        label = f"Unit {slot}"
        from_on = max(_installed_on(site_index, slot, window), site.opened_on)
        serial = f"SI-{first_serial_number(site_index) + slot - 1:04d}"
        if Kind.LENT in bound:
            label, serial = f"Unit {slot} (loaner)", f"SI-{9001 + site_index // BLOCK}"
            from_on = _before_end(window, bound[Kind.LENT])
        if Kind.RETIRES in bound:
            left_on = _before_end(window, bound[Kind.RETIRES])
            stay = Stay(site_index, label, from_on, left_on)
            old = f"SI-{7001 + site_index // BLOCK}"
            units.append(Unit(old, site_index, _RETIRED_SLOT, air_removal, (stay,), {}))
            from_on = left_on
        stays = _stays(site_index, label, from_on, bound, site_count, window)
        units.append(Unit(serial, site_index, slot, air_removal, stays, bound))
    return units


def machine_of(seed: int, unit: Unit, window: Window) -> Machine:
    """The unit's own character, drawn once; stops of the equipment are heavy-tailed by unit."""
    rng = stream(seed, Draws.MACHINE, unit.home, unit.slot)
    from_on = unit.stays[0].from_on
    years = max((window.first_on - from_on).days, 0) / 365
    is_fresh = Kind.LENT in unit.bound
    return Machine(
        counter=1840 if is_fresh else int(years * rng.uniform(700, 1000)),
        loads_factor=rng.lognormal(0, 0.15),
        equipment_stop_share=0.0012 + rng.gamma(0.8, 0.0085),
        air_seconds=rng.uniform(280, 380),
        heat_up_seconds=rng.uniform(300, 480),
        drying_factor=rng.uniform(0.95, 1.1),
        depth_kpa=rng.uniform(8, 15),
        leak_kpa_per_minute=rng.uniform(0.015, 0.045),
        offset_kelvin=rng.normal(0, 0.12),
        drift_sign=1.0 if rng.random() < 0.4 else -1.0,
        water_days=int(rng.integers(60, 130)),
    )


def _stays(
    site_index: int,
    label: str,
    from_on: date,
    bound: dict[Kind, Scenario],
    site_count: int,
    window: Window,
) -> tuple[Stay, ...]:
    if Kind.MOVES not in bound:
        return (Stay(site_index, label, from_on, None),)
    move = bound[Kind.MOVES]
    moved_on = _before_end(window, move)
    to_index = site_index - move.position + move.to_position
    first = Stay(site_index, label, from_on, moved_on)
    if to_index >= site_count:
        return (first,)
    slot = len(place(to_index, window.ends_on).air_removals) + 1
    return (first, Stay(to_index, f"Unit {slot}", moved_on, None))


def _installed_on(site_index: int, slot: int, window: Window) -> date:
    # The 31 keeps neighbours from having been bought on the same day.
    days = (site_index * 613 + slot * 977 + 31 * site_index * slot) % 2500
    installed = window.ends_on - timedelta(days=600 + days)
    return installed - timedelta(days=installed.weekday())


def _before_end(window: Window, scenario: Scenario) -> date:
    return max(window.ends_on - timedelta(days=scenario.since_days), window.first_on)


def initials(name: str) -> str:
    """The letters under which a site numbers its loads and tests."""
    return "".join(word[0] for word in name.split())


def leak_test_weekday(unit: Unit) -> int:
    """The weekday on which this unit's leak test is due, Monday to Wednesday."""
    return int(np.mod(unit.home + unit.slot, 3))
