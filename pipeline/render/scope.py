"""The part of the network that a page or letter speaks of, and who is in it."""

import re
from collections import Counter
from dataclasses import dataclass
from functools import cached_property, lru_cache

from pipeline.render.tables.reader import grouped
from pipeline.render.tables.register import SiteRow, UnitRow
from pipeline.render.tables.standing import FindingRow
from pipeline.render.tables.tables import Tables
from pipeline.render.words import printable

STATES = ("act_now", "look_into", "usual", "too_few", "not_seen")
"""In their order of urgency."""


@dataclass(frozen=True)
class Scope:
    """The whole network, a region or a site: its sites and its units, in the order of names.

    Units that left service during the twelve months are among them: they have pages, but no count
    of units as they stand today includes them.
    """

    tables: Tables
    level: str
    subject_id: str
    name: str
    sites: tuple[SiteRow, ...]
    units: tuple[UnitRow, ...]

    @cached_property
    def in_service(self) -> tuple[UnitRow, ...]:
        """The units that stand in the register today."""
        return tuple(unit for unit in self.units if unit.is_in_service)

    @cached_property
    def findings(self) -> list[FindingRow]:
        """The findings of these sites and their units, most urgent first."""
        if len(self.sites) == 1:
            return self.tables.findings_of_site.get(self.sites[0].site_id, [])
        site_ids = {site.site_id for site in self.sites}
        return [row for row in self.tables.findings if row.site_id in site_ids]

    def units_at(self, site_id: str) -> tuple[UnitRow, ...]:
        """The units in service at one of the sites."""
        return self._by_site.get(site_id, ())

    @cached_property
    def _by_site(self) -> dict[str, tuple[UnitRow, ...]]:
        groups = grouped(self.in_service, lambda unit: unit.site_id)
        return {site_id: tuple(units) for site_id, units in groups.items()}

    def state_counts(self) -> Counter[str]:
        """How many units in service stand in each state; one without a state was not seen."""
        return Counter(state_of(self.tables, "unit", unit.unit_serial) for unit in self.in_service)


def network_scope(tables: Tables) -> Scope:
    """All sites and units."""
    sites = tuple(tables.sites.values())
    name = printable(tables.network.name)
    return Scope(tables, "network", "network", name, sites, _units(tables, sites))


def region_scopes(tables: Tables) -> list[Scope]:
    """Each region, by name."""
    regions = sorted({(site.region, site.region_id) for site in tables.sites.values()})
    scopes: dict[str, Scope] = {}
    for region, region_id in regions:
        sites = tuple(site for site in tables.sites.values() if site.region_id == region_id)
        units = _units(tables, sites)
        # Spellings of one region that differ in capitals share an id, so they are one page.
        scopes.setdefault(
            region_id, Scope(tables, "region", region_id, printable(region), sites, units)
        )
    return list(scopes.values())


def site_scope(tables: Tables, site: SiteRow) -> Scope:
    """One site."""
    return Scope(
        tables, "site", site.site_id, printable(site.name), (site,), _units(tables, (site,))
    )


def state_of(tables: Tables, level: str, subject_id: str) -> str:
    """The state of a subject; what has no state was not seen."""
    row = tables.states.get((level, subject_id))
    return row.state if row else "not_seen"


def _units(tables: Tables, sites: tuple[SiteRow, ...]) -> tuple[UnitRow, ...]:
    places = {site.site_id: place for place, site in enumerate(sites)}
    chosen = [unit for site in sites for unit in tables.units_of_site.get(site.site_id, [])]
    return tuple(
        sorted(chosen, key=lambda u: (places[u.site_id], _natural(u.label), u.unit_serial))
    )


@lru_cache(maxsize=1 << 14)
def _natural(label: str) -> tuple[str | int, ...]:
    """A key that puts "Unit 2" before "Unit 10"; texts and numbers take turns, so they compare.

    Kept, because each region's page asks for all units, and many have the same label.
    """
    parts = re.split(r"([0-9]+)", label)
    return tuple(int(part) if part.isdecimal() else part for part in parts)
