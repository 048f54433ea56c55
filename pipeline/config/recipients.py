"""Who gets letters, and about what: the tables [[recipient]] of network.toml."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from typing import Any
from zoneinfo import available_timezones

from pipeline.base.language import ORIGINAL
from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.languages import read_language

ROLES = ("group", "region", "site")
FORMATS = ("html", "text")
ATTACHMENTS = ("page", "findings", "pack")
"""What may be sent along: the page of the scope, its findings as a list, a site's evidence pack."""

ADDRESS = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@[A-Za-z0-9.-]{1,250}", re.ASCII)
"""An address in the plain form that every server takes. Source: RFC 5321, 4.1.2, dot-string."""

_SETTINGS = {
    "address", "name", "role", "scope", "language", "format", "time_zone", "monthly", "watch",
    "quiet", "attach", "images",
}  # fmt: skip
_CLOCK_TIME = re.compile(r"([01]\d|2[0-3]):([0-5]\d)-([01]\d|2[0-3]):([0-5]\d)", re.ASCII)


@dataclass(frozen=True)
class Recipient:
    """One reader. `scope` is empty for the group, a region's name, or a site's id.

    `quiet` are the hours, by the reader's clock, in which the watch does not write: from and until,
    over midnight when the first is the later.
    """

    address: str
    role: str
    scope: str
    time_zone: str
    name: str = ""
    language: str = ORIGINAL
    format: str = "html"
    is_monthly: bool = True
    is_watching: bool = False
    quiet: tuple[time, time] | None = None
    attachments: tuple[str, ...] = ()
    has_images: bool = False

    def is_quiet_at(self, clock: time) -> bool:
        """Whether the reader's clock stands in the hours in which the watch does not write."""
        if self.quiet is None:
            return False
        begins, ends = self.quiet
        if begins <= ends:
            return begins <= clock < ends
        return not ends <= clock < begins

    @property
    def scope_key(self) -> tuple[str, str]:
        """Level and id of the scope, as the tables name it."""
        if self.role == "group":
            return "network", "network"
        return self.role, region_id(self.scope) if self.role == "region" else self.scope


@dataclass(frozen=True)
class Places:
    """What is known of the group when readers are read: by site id its region and own language."""

    regions: Mapping[str, str]
    languages: Mapping[str, str | None]
    time_zone: str
    language: str


def region_id(region: str) -> str:
    """A region's name as model.site has it: small letters and dashes."""
    return re.sub(r"[^a-z0-9]+", "-", region.lower()).strip("-")


def read_recipients(declared: Any, places: Places, faults: Faults) -> tuple[Recipient, ...]:
    """Every reader, in the order declared; faults are noted.

    Who declares no language reads that of the pages about the same scope.
    """
    if not isinstance(declared, list) or not all(isinstance(one, dict) for one in declared):
        faults.add("network.toml", "recipient is no list; begin each reader with [[recipient]].")
        return ()
    found: dict[tuple[str, str, str], Recipient] = {}
    for number, one in enumerate(declared, 1):
        recipient = _read(one, f"network.toml: recipient {number}", places, faults)
        key = (recipient.address.casefold(), recipient.role, recipient.scope)
        if key in found:
            faults.add(
                f"network.toml: recipient {number}",
                f'"{recipient.address}" is there twice for one scope; keep one of them.',
            )
        found[key] = recipient
    return tuple(found.values())


def _read(one: dict[str, Any], where: str, places: Places, faults: Faults) -> Recipient:
    for key in sorted(one.keys() - _SETTINGS):
        faults.add(where, f'has no setting "{key}". {did_you_mean(key, _SETTINGS)}')
    address = str(one.get("address", ""))
    if not ADDRESS.fullmatch(address):
        faults.add(where, f'address is "{address}"; write one such as "lead@clinics.example".')
    name = str(one.get("name", ""))
    if not name.isprintable():
        faults.add(where, f"name is {name!r}; leave out what cannot be printed.")
    role = _one_of(one, "role", ROLES, "", where, faults)
    zone = str(one.get("time_zone", places.time_zone))
    if zone not in available_timezones():
        hint = did_you_mean(zone, available_timezones())
        faults.add(where, f'time_zone is "{zone}", which is not known. {hint}')
        zone = places.time_zone
    attachments = one.get("attach", [])
    if not isinstance(attachments, list) or not set(map(str, attachments)) <= set(ATTACHMENTS):
        faults.add(where, f"attach is {attachments!r}; known: {', '.join(ATTACHMENTS)}.")
        attachments = []
    if "pack" in attachments and role != "site":
        faults.add(where, "attaches a pack, which is of one site; leave it to readers of sites.")
    scope = _scope(one, role, places, where, faults)
    images = _flag(one, "images", False, where, faults)
    if images and one.get("format") == "text":
        faults.add(where, 'asks for images and for format "text", which has none; leave out one.')
    own = places.languages.get(scope) if role == "site" else None
    return Recipient(
        address,
        role,
        scope,
        zone,
        name,
        read_language(one.get("language"), own or places.language, where, faults),
        _one_of(one, "format", FORMATS, "html", where, faults),
        _flag(one, "monthly", True, where, faults),
        _flag(one, "watch", False, where, faults),
        _quiet(one.get("quiet"), where, faults),
        tuple(attachments),
        images,
    )


def _scope(one: dict[str, Any], role: str, places: Places, where: str, faults: Faults) -> str:
    scope = str(one.get("scope", ""))
    if role == "group":
        if scope:
            faults.add(where, f'has the scope "{scope}"; a reader of the group has none.')
        return ""
    names = {region.casefold(): region for region in places.regions.values()}
    if role == "region" and scope.casefold() in names:
        return names[scope.casefold()]
    if role == "site" and scope in places.regions:
        return scope
    if role and places.regions:
        hint = did_you_mean(scope, names.values() if role == "region" else places.regions)
        faults.add(where, f'scope is "{scope}", which is no {role} of sites.csv. {hint}')
    return scope


def _quiet(declared: Any, where: str, faults: Faults) -> tuple[time, time] | None:
    if declared is None:
        return None
    match = _CLOCK_TIME.fullmatch(str(declared))
    if match is None:
        faults.add(where, f'quiet is {declared!r}; write the hours as "20:00-07:00".')
        return None
    from_hour, from_minute, to_hour, to_minute = map(int, match.groups())
    return time(from_hour, from_minute), time(to_hour, to_minute)


def _one_of(
    one: dict[str, Any], key: str, known: tuple[str, ...], usual: str, where: str, faults: Faults
) -> str:
    value = one.get(key, usual)
    if value in known:
        return str(value)
    faults.add(where, f'{key} is "{value}"; write one of: {", ".join(known)}.')
    return usual


def _flag(one: dict[str, Any], key: str, usual: bool, where: str, faults: Faults) -> bool:
    value = one.get(key, usual)
    if isinstance(value, bool):
        return value
    faults.add(where, f"{key} is {value!r}; write true or false.")
    return usual
