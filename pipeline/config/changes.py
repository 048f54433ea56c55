"""Sites that move from one practice profile to another on a day: [[practice]] of network.toml."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.network import PracticeChange, Site

_SETTINGS = ("sites", "profile", "from")


def with_changes(declared: Any, sites: Mapping[str, Site], faults: Faults) -> dict[str, Site]:
    """The sites with the profiles that they follow later on; every contradiction is noted.

    What sites.csv names holds from the first day up to the first change of a site.
    """
    changed = dict(sites)
    if not isinstance(declared, list) or not all(isinstance(one, dict) for one in declared):
        faults.add("network.toml", "practice is no list of tables; begin each with [[practice]].")
        return changed
    for number, one in enumerate(declared, 1):
        where = f"network.toml: [[practice]] {number}"
        for key in one.keys() - set(_SETTINGS):
            faults.add(where, f'has no setting "{key}". {did_you_mean(key, _SETTINGS)}')
        profile, first = one.get("profile"), one.get("from")
        if not isinstance(profile, str) or not profile:
            faults.add(where, f'has profile = {profile!r}; write its name, such as "weekly".')
        # By exact type, because an instant is a date to isinstance.
        if type(first) is not date:
            faults.add(where, f"has from = {first!r}; write a day, such as 2026-03-01.")
        for site_id in _named(where, one.get("sites"), sites, faults):
            if isinstance(profile, str) and profile and type(first) is date:
                change = PracticeChange(first, profile)
                changed[site_id] = _changed(where, changed[site_id], change, faults)
    return changed


def _named(where: str, named: Any, sites: Mapping[str, Site], faults: Faults) -> Iterator[str]:
    if named == "all":
        yield from sites
        return
    if not isinstance(named, list) or not named:
        faults.add(where, f'has sites = {named!r}; write "all" or a list of site ids.')
        return
    for one in map(str, named):
        if one in sites:
            yield one
        else:
            hint = did_you_mean(one, sites)
            faults.add(where, f'names the site "{one}", not in sites.csv. {hint}'.rstrip())


def _changed(where: str, site: Site, change: PracticeChange, faults: Faults) -> Site:
    """The site with one more change; as it was when that contradicts what is known of it."""
    last = site.changes[-1] if site.changes else None
    name, day = f'site "{site.site_id}"', change.from_on
    lack = ""
    if day <= site.opened_on:
        lack = f"opened on {site.opened_on}; write its first profile in sites.csv"
    elif site.closed_on is not None and day >= site.closed_on:
        lack = f"is closed from {site.closed_on} on; no rule is asked for after that"
    elif last and day == last.from_on:
        lack = f'follows "{last.practice}" from that very day; keep one of the two'
    elif last and day < last.from_on:
        lack = f"changes on {last.from_on} further up; write its changes in the order of their days"
    elif change.practice == (last.practice if last else site.practice):
        lack = f'follows "{change.practice}" already; leave it out, or name another profile'
    if lack:
        faults.add(where, f"is from {day}, and {name} {lack}.")
        return site
    return replace(site, changes=(*site.changes, change))
