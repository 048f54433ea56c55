"""The Saltmarsh Isles: names, regions and clinics, all invented.

The first 24 sites are written out; further ones take their kind from the same table, block after
block, and their names from two lists of words.
"""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from pipeline.demo.scenario import BLOCK, Kind, scenarios_of

REGIONS = ("North Shoals", "Outer Banks", "Long Reach", "The Levels")
_TIME_ZONES = {"Outer Banks": "Atlantic/Azores"}
_OTHER_TIME_ZONE = "Europe/London"
_INCUBATION_HOURS = {"desk": 24, "post": 168}
_OWNERS = ("J. Fenn", "M. Tarn", "", "R. Oake", "A. Brine")

# name, region, clinic, units (P prevacuum, G gravity, F steam flush), metres, log shape, and where
# spore tests are read: by a reader on the desk, or by a laboratory that they are posted to
_TABLE = """
Gannet Quay       | Outer Banks  | dental     | PPG  |   4 | semicolon   | desk
Samphire Harbour  | The Levels   | medical    | PPPF |   2 | comma       | desk
Fallow Reach      | Outer Banks  | dental     | PFP  |  12 | spreadsheet | desk
Kestrel Lock      | Long Reach   | dental     | PGP  |  31 | jsonlines   | desk
Marram Ferry      | North Shoals | podiatry   | G    |   6 | printout    | post
Umber Bay         | The Levels   | dental     | PPP  |   3 | comma       | desk
Inkwell Sluice    | Long Reach   | dental     | PPPF | 118 | semicolon   | desk
Nettle Mole       | North Shoals | dental     | PGP  |   9 | comma       | desk
Tallow Oxbow      | Long Reach   | medical    | PPFP |  64 | spreadsheet | desk
Bracken Islet     | North Shoals | veterinary | PGG  |  22 | jsonlines   | desk
Gannet Drift      | Outer Banks  | dental     | PPP  |   7 | comma       | desk
Sorrel Head       | Long Reach   | podiatry   | GF   | 410 | printout    | desk
Heron Staithe     | The Levels   | dental     | PPPP |   2 | comma       | desk
Osier Weir        | Long Reach   | medical    | PPFG | 640 | semicolon   | desk
Lantern Ness      | North Shoals | dental     | PGP  |  15 | spreadsheet | desk
Thrift Haven      | Outer Banks  | dental     | PPF  |   5 | jsonlines   | desk
Plover Spit       | North Shoals | podiatry   | G    |   8 | comma       | desk
Cinder Fell       | Long Reach   | veterinary | GFP  | 900 | jsonlines   | desk
Tansy Mere        | The Levels   | dental     | PPGP |   2 | comma       | desk
Juniper Cove      | Outer Banks  | medical    | PPF  |  38 | comma       | desk
Pewter Hythe      | The Levels   | dental     | PFP  |   3 | semicolon   | desk
Curlew Sound      | North Shoals | dental     | PPG  |  11 | comma       | desk
Wicker Strand     | Outer Banks  | podiatry   | GG   |  19 | comma       | post
Saffron Landing   | The Levels   | medical    | PPP  |   2 | spreadsheet | desk
"""
_ROWS = [tuple(cell.strip() for cell in line.split("|")) for line in _TABLE.strip().splitlines()]

_FIRST_WORDS = """
Alder Auk Bracken Cinder Curlew Dunlin Eider Fallow Fescue Flint Gannet Heron
Inkwell Juniper Kestrel Lantern Larch Mallow Marram Nettle Osier Otter Petrel Pewter Plover Rowan
Saffron Samphire Sedge Sorrel Tallow Tansy Teasel Thrift Umber Wicker
"""
_LAST_WORDS = """
Bar Bay Cove Creek Drift Fell Ferry Ford Harbour Haven Head Hythe Islet Landing
Lock Mere Mole Ness Oxbow Point Quay Reach Sluice Sound Spit Staithe Strand Weir
"""
# Shares no factor with the number of pairs, so that the walk comes to every pair.
_STRIDE = 605

AIR_REMOVALS = {"P": "prevacuum", "G": "gravity", "F": "steam_flush"}
# A printout is a file a cycle, which is for a small clinic: larger networks get no more of them.
_SHAPE_BEYOND_FIRST_BLOCK = {"printout": "comma"}


@dataclass(frozen=True)
class Place:
    """One site and the clinic in it; `air_removals` has one entry for each place for a unit."""

    index: int
    site_id: str
    name: str
    region: str
    time_zone: str
    altitude_m: float
    clinic: str
    shape: str
    air_removals: tuple[str, ...]
    opened_on: date
    owner: str
    incubation_hours: int


@cache
def place(index: int, ends_on: date) -> Place:
    """The site of this number, the same in a network of any size."""
    name, region, clinic, units, metres, shape, reader = _ROWS[index % BLOCK]
    block = index // BLOCK
    opens = scenarios_of(index).get(Kind.OPENS)
    return Place(
        index,
        re.sub(r"[^a-z0-9]+", "-", _name(index).lower()),
        _name(index),
        region,
        _TIME_ZONES.get(region, _OTHER_TIME_ZONE),
        float(metres) if block == 0 else float(2 + (int(metres) + 37 * block) % 899),
        clinic,
        shape if block == 0 else _SHAPE_BEYOND_FIRST_BLOCK.get(shape, shape),
        tuple(AIR_REMOVALS[letter] for letter in units),
        ends_on - timedelta(days=opens.since_days)
        if opens
        else date(2009 + index % 13, 1 + index % 12, 1),
        _OWNERS[index % len(_OWNERS)],
        _INCUBATION_HOURS[reader],
    )


def first_serial_number(index: int) -> int:
    """The number of a site's first unit: all places for a unit at the sites before it, and one."""
    sizes = [len(row[3]) for row in _ROWS]
    return index // BLOCK * sum(sizes) + sum(sizes[: index % BLOCK]) + 1


def _name(index: int) -> str:
    if index < BLOCK:
        return _ROWS[index][0]
    again, left = divmod(index - BLOCK, len(_further_names()))
    return f"{_further_names()[left]} {again + 1}" if again else _further_names()[left]


@cache
def _further_names() -> tuple[str, ...]:
    taken = {row[0] for row in _ROWS}
    pairs = [f"{first} {last}" for first in _FIRST_WORDS.split() for last in _LAST_WORDS.split()]
    walk = (pairs[step * _STRIDE % len(pairs)] for step in range(len(pairs)))
    return tuple(name for name in walk if name not in taken)
