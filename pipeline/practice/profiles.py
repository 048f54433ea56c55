"""The profiles that a network's sites follow, loaded and put into the practice tables."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

import duckdb

from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.network import Network
from pipeline.practice.plain import in_order, printed, printed_less, unsure
from pipeline.practice.profile import Profile, Spell
from pipeline.practice.rules import EVER_SINCE, Rule
from pipeline.practice.shelf import profile_names, read_all
from pipeline.practice.spells import one_after_another, spells_of
from pipeline.warehouse.statements import create

_NOT_STORED = {"reason"}


def load_profiles(network: Network) -> dict[str, Profile]:
    """The profiles that the sites follow, by name; also of those that follow several by day.

    Raises ConfigurationError with every site whose profile there is not, and every fault in those
    there are, followed or not.
    """
    faults = Faults()
    profiles = read_all(network.folder, faults)
    names = set(profile_names(network.folder))
    for_sites = {name for name in names if name not in profiles or profiles[name].is_for_sites}
    spells = {site.follows: spells_of(site) for site in network.sites.values()}
    for site in network.sites.values():
        for place, spell in enumerate(spells[site.follows]):
            if spell.practice in for_sites:
                continue
            lack = "of which there is no profile"
            if spell.practice in names:
                lack = "which is for other profiles to inherit"
            hint = did_you_mean(spell.practice, for_sites)
            since = f" from {spell.from_on}" if place else ""
            faults.add(
                f'{"network.toml" if place else "sites.csv"}: site "{site.site_id}"',
                f'follows the practice "{spell.practice}"{since}, {lack}. {hint}'.rstrip(),
            )
    faults.raise_any()
    followed = sorted({spell.practice for one in spells.values() for spell in one})
    changing = {name: one for name, one in sorted(spells.items()) if len(one) > 1}
    return {name: profiles[name] for name in followed} | {
        name: one_after_another(name, one, profiles) for name, one in changing.items()
    }


def write_profiles(con: duckdb.DuckDBPyConnection, profiles: Mapping[str, Profile]) -> None:
    """Put these profiles in place of those of the last run; the tables are made anew."""
    create(con, "practice")
    for _, one in sorted(profiles.items()):
        if not one.spells:
            _insert(con, "profile", _profile(one))
        for spell in one.spells or (Spell(one.name, EVER_SINCE, None),):
            _insert(con, "followed", _followed(one.name, spell))
        for place, rule in enumerate(in_order(one.rules), start=1):
            _insert(con, f"{rule.table}_rule", {"practice": one.name} | _fields(rule))
            _insert(con, "rule", {"practice": one.name, "place": place} | printed(rule))
        for less in one.loosenings:
            _insert(con, "loosening", {"practice": one.name} | printed_less(less))


def _profile(one: Profile) -> dict[str, Any]:
    return {
        "practice": one.name,
        "title": one.title,
        "asks": one.asks,
        "jurisdiction": one.jurisdiction,
        "reviewed_on": one.reviewed_on,
        "unsure": unsure(rule.confidence for rule in one.rules) or "",
        "parents": list(one.parents),
    }


def _followed(name: str, spell: Spell) -> dict[str, Any]:
    return {
        "practice": name,
        "profile": spell.practice,
        "from_on": spell.from_on,
        "to_on": spell.to_on,
    }


def _fields(rule: Rule) -> dict[str, Any]:
    return {
        field.name: getattr(rule, field.name)
        for field in fields(rule)
        if field.name not in _NOT_STORED
    }


def _insert(con: duckdb.DuckDBPyConnection, table: str, row: Mapping[str, Any]) -> None:
    columns = ", ".join(row)
    blanks = ", ".join("?" * len(row))
    con.execute(f"INSERT INTO practice.{table} ({columns}) VALUES ({blanks})", list(row.values()))
