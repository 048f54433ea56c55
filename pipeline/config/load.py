"""Reads network.toml and the registers, and reports every fault at once."""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from pipeline import __version__
from pipeline.base.assets import fingerprint
from pipeline.base.files import sha256
from pipeline.base.language import ORIGINAL
from pipeline.config.changes import with_changes
from pipeline.config.credentials import read_credentials
from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.feeds import read_feed
from pipeline.config.formats import shared_formats
from pipeline.config.languages import read_language
from pipeline.config.location import check_location
from pipeline.config.mail import read_mail
from pipeline.config.network import Feed, Network, Site
from pipeline.config.privacy import read_privacy
from pipeline.config.recipients import Places, read_recipients
from pipeline.config.registers import read_assignments, read_sites
from pipeline.config.schedule import check_quiet, read_schedule

_TABLES = {
    "group", "folders", "feed", "format", "privacy", "credentials", "pull", "mail", "recipient",
    "schedule", "practice",
}  # fmt: skip
_PULL = {"at_once": (Network.at_once, 64), "max_file_mib": (Network.max_file_mib, 65_536)}
"""Each setting's usual value, and the most that it may be."""
_DECIDING = (
    *(("sql", schema) for schema in ("register", "stage", "build", "model", "judge")),
    ("expectations", "data"),
)
"""Our own rules by which a landed file becomes rows, and the tables that runs add to."""


def load_network(folder: Path) -> Network:
    """The network declared in a folder.

    Raises ConfigurationError with every fault of network.toml, sites.csv and units.csv.
    """
    faults = Faults()
    declared = _toml(folder / "network.toml", faults)
    sites = read_sites(folder / "sites.csv", faults)
    assignments = read_assignments(folder / "units.csv", sites, faults)
    group = _table(declared, "group", faults)
    folders = _table(declared, "folders", faults)
    if not group.get("name"):
        faults.add("network.toml", 'has no name; write [group] with name = "...".')
    for key in declared.keys() - _TABLES:
        faults.add("network.toml", f'has no table "{key}". {did_you_mean(key, _TABLES)}')
    sites = with_changes(declared.get("practice", []), sites, faults)
    shared = shared_formats(declared.get("format", {}), faults)
    feeds = _feeds(declared.get("feed", []), sites, shared, faults)
    credentials = read_credentials(declared.get("credentials", {}), folder, faults)
    for feed in feeds:
        check_location(feed, credentials, faults)
    state_folder = folder / str(folders.get("state", "state"))
    privacy = read_privacy(_table(declared, "privacy", faults), folder, state_folder, faults)
    at_once, max_file_mib = _pull(_table(declared, "pull", faults), faults)
    zones = [site.time_zone for site in sites.values()]
    schedule = read_schedule(_table(declared, "schedule", faults), zones, faults)
    mail = read_mail(_table(declared, "mail", faults), folder, faults)
    language = read_language(group.get("language"), ORIGINAL, "network.toml: group", faults)
    places = Places(
        {site.site_id: site.region for site in sites.values()},
        {site.site_id: site.language for site in sites.values()},
        schedule.time_zone,
        language,
    )
    recipients = read_recipients(declared.get("recipient", []), places, faults)
    check_quiet(schedule, recipients, faults)
    if recipients and mail is None:
        faults.add("network.toml", "has readers and no [mail]; say there how letters leave.")
    faults.raise_any()
    return Network(
        folder,
        str(group["name"]),
        bool(group.get("invented", False)),
        sites,
        assignments,
        feeds,
        state_folder,
        folder / str(folders.get("pages", "pages")),
        _fingerprint(feeds, _logged(sites), assignments, privacy.operator),
        privacy,
        credentials,
        at_once,
        max_file_mib,
        mail,
        recipients,
        schedule,
        language,
    )


def _toml(path: Path, faults: Faults) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        faults.add(
            path.name, f"not found in {path.parent.name}/; `holdtime demo` writes an example."
        )
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        faults.add(path.name, f"is not TOML: {error}.")
    return {}


def _table(declared: dict[str, Any], name: str, faults: Faults) -> dict[str, Any]:
    table = declared.get(name, {})
    if isinstance(table, dict):
        return table
    faults.add("network.toml", f"{name} is {table!r}; write [{name}] and a line for each setting.")
    return {}


def _feeds(
    declared: Any, sites: dict[str, Any], shared: dict[str, Any], faults: Faults
) -> tuple[Feed, ...]:
    feeds: dict[str, Feed] = {}
    if not isinstance(declared, list) or not all(isinstance(one, dict) for one in declared):
        faults.add("network.toml", "feed is no list of tables; begin each feed with [[feed]].")
        return ()
    for one in declared:
        feed = read_feed(one, sites, shared, faults)
        if feed is None:
            continue
        if feed.name in feeds:
            faults.add("network.toml", f'two feeds have the name "{feed.name}"; rename one.')
        feeds[feed.name] = feed
    if not declared:
        faults.add("network.toml", "declares no feed; add a [[feed]] for each kind of log.")
    return tuple(feeds.values())


def _pull(declared: dict[str, Any], faults: Faults) -> list[int]:
    for key in declared.keys() - _PULL.keys():
        faults.add(
            "network.toml: pull", f'has no setting "{key}". Known: {", ".join(sorted(_PULL))}.'
        )
    values = []
    for name, (usual, most) in _PULL.items():
        value = declared.get(name, usual)
        if type(value) is not int or not 1 <= value <= most:
            faults.add(
                "network.toml: pull", f"{name} is {value!r}; write a number from 1 to {most}."
            )
            value = usual
        values.append(value)
    return values


def _logged(sites: dict[str, Site]) -> dict[str, Site]:
    """The sites as far as they decide what their logs become: in any language the same."""
    return {site_id: replace(site, language=None) for site_id, site in sites.items()}


def _fingerprint(*declared: object) -> str:
    """Of all that decides what a landed file becomes: declarations, registers, our own rules."""
    return sha256("".join([__version__, repr(declared), fingerprint(*_DECIDING)]).encode())
