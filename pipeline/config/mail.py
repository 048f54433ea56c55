"""How letters leave: the table [mail] of network.toml. Holds no secret, only where one is."""

import ipaddress
import re
from dataclasses import dataclass
from email.headerregistry import Address
from email.utils import parseaddr
from pathlib import Path
from typing import Any

from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.recipients import ADDRESS

SECURITIES = ("starttls", "tls", "none")
_PORTS = {"starttls": 587, "tls": 465, "none": 25}
_SECRETS = {"password", "secret", "token"}


@dataclass(frozen=True)
class Secret:
    """Where a secret is: a file, a variable, or a name in the service's folder of credentials."""

    file: Path | None = None
    env: str | None = None
    credential: str | None = None


@dataclass(frozen=True)
class Webhook:
    """An address that is told of new findings, with the secret that signs what it is told."""

    url: str
    secret: Secret


@dataclass(frozen=True)
class Mail:
    """The sender, and either a server or a folder. `hold` are addresses that get nothing now.

    `pages_url` is where readers find the pages; empty when they lie in a folder of the group.
    `bounces` is a folder into which the server's notices of failure are put.
    """

    sender_name: str
    sender_address: str
    host: str = ""
    port: int = 0
    security: str = "starttls"
    user: str = ""
    password: Secret = Secret()
    ca_file: Path | None = None
    folder: Path | None = None
    unsubscribe: str = ""
    list_id: str = ""
    hold: tuple[str, ...] = ()
    bounces: Path | None = None
    pages_url: str = ""
    timeout_seconds: int = 30
    pauses_seconds: tuple[int, ...] = (2, 8)
    webhook: Webhook | None = None

    @property
    def sender(self) -> str:
        """The sender as a header names it."""
        return str(Address(self.sender_name, addr_spec=self.sender_address))

    @property
    def domain(self) -> str:
        """The sender's domain, in which Message-IDs are made."""
        return self.sender_address.rpartition("@")[2]


_SETTINGS = {
    "from", "host", "port", "security", "user", "password_file", "password_env",
    "password_credential", "ca_file", "folder", "unsubscribe", "list_id", "hold", "bounces",
    "pages_url", "timeout_seconds", "webhook",
}  # fmt: skip
_HOOK_SETTINGS = {"url", "secret_file", "secret_env", "secret_credential"}
_TEXTS = _SETTINGS - {"port", "hold", "timeout_seconds", "webhook"}


def read_mail(declared: dict[str, Any], folder: Path, faults: Faults) -> Mail | None:
    """The settings; None when there is no [mail]. Faults are noted."""
    if not declared:
        return None
    where = "network.toml: mail"
    settings = _known(declared, _SETTINGS, where, faults)
    texts = {
        key: _text(value, key, where, faults) for key, value in settings.items() if key in _TEXTS
    }
    name, address = parseaddr(texts.get("from", ""))
    if not ADDRESS.fullmatch(address) or not name.isprintable():
        faults.add(where, 'has no sender; write from = "Name <reports@clinics.example>".')
    host, door = texts.get("host", ""), texts.get("folder", "")
    if bool(host) == bool(door):
        faults.add(where, "needs a host, or a folder to write letters into; declare one of them.")
    security = _security(texts.get("security", "starttls"), host, texts, where, faults)
    password = _secret(texts, "password", folder, where, faults)
    if bool(texts.get("user")) != (password != Secret()):
        faults.add(where, "has a user without a password, or the other way round; name both.")
    for key in ("unsubscribe",):
        if texts.get(key) and not ADDRESS.fullmatch(texts[key]):
            faults.add(where, f'{key} is "{texts[key]}"; write an address.')
    return Mail(
        name,
        address,
        host,
        _number(settings, "port", _PORTS[security], 65_535, where, faults),
        security,
        texts.get("user", ""),
        password,
        _path(texts, "ca_file", folder),
        _path(texts, "folder", folder),
        texts.get("unsubscribe", "") or address,
        _list_id(texts.get("list_id", ""), address, where, faults),
        _hold(settings.get("hold", []), where, faults),
        _path(texts, "bounces", folder),
        _pages_url(texts.get("pages_url", ""), where, faults),
        _number(settings, "timeout_seconds", Mail.timeout_seconds, 600, where, faults),
        webhook=_webhook(settings.get("webhook"), folder, faults),
    )


def _security(declared: str, host: str, texts: dict[str, str], where: str, faults: Faults) -> str:
    if declared not in SECURITIES:
        faults.add(where, f'security is "{declared}"; write one of: {", ".join(SECURITIES)}.')
        return "starttls"
    if declared == "none" and not is_loopback(host):
        faults.add(
            where, f'security is "none" for {host}, so anybody on the way could read; use starttls.'
        )
    if declared == "none" and texts.get("user"):
        faults.add(where, "sends a password in the open; use starttls or tls, or leave out user.")
    return declared


def is_loopback(host: str) -> bool:
    """True for this machine itself, to which nothing travels."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"


def _webhook(declared: Any, folder: Path, faults: Faults) -> Webhook | None:
    if declared is None:
        return None
    where = "network.toml: mail.webhook"
    if not isinstance(declared, dict):
        faults.add(where, "is no table; write [mail.webhook] with url and secret_file.")
        return None
    settings = _known(declared, _HOOK_SETTINGS, where, faults)
    texts = {key: _text(value, key, where, faults) for key, value in settings.items()}
    url, secret = texts.get("url", ""), _secret(texts, "secret", folder, where, faults)
    match = re.fullmatch(r"(https?)://(\[[0-9a-f:]+\]|[A-Za-z0-9.-]+)(:\d+)?(/\S*)?", url)
    if match is None or (match[1] == "http" and not is_loopback(match[2])):
        faults.add(where, f'url is "{url}"; write an address that begins with https://.')
    if secret == Secret():
        faults.add(where, "has no secret to sign with; name secret_file or secret_env.")
    return Webhook(url, secret)


def _secret(texts: dict[str, str], name: str, folder: Path, where: str, faults: Faults) -> Secret:
    found = {kind: texts[f"{name}_{kind}"] for kind in ("file", "env", "credential")
             if texts.get(f"{name}_{kind}")}  # fmt: skip
    if len(found) > 1:
        faults.add(where, f"names its {name} {len(found)} times; keep one of them.")
    credential = found.get("credential")
    if credential and not re.fullmatch(r"[A-Za-z0-9._-]+", credential):
        faults.add(where, f'{name}_credential is "{credential}"; write its name, not a path.')
    path = folder / found["file"] if "file" in found else None
    return Secret(path, found.get("env"), credential)


def _known(declared: dict[str, Any], known: set[str], where: str, faults: Faults) -> dict[str, Any]:
    for key in sorted(declared.keys() - known):
        if key in _SECRETS:
            # The value stays out of the message: it would end in a log.
            faults.add(where, f'has "{key}" in the open; name it by {key}_file or {key}_env.')
        else:
            faults.add(where, f'has no setting "{key}". {did_you_mean(key, known)}')
    return {key: value for key, value in declared.items() if key in known}


def _text(value: Any, key: str, where: str, faults: Faults) -> str:
    if isinstance(value, str) and value.isprintable():
        return value
    faults.add(where, f'{key} is {value!r}; write {key} = "...".')
    return ""


def _number(
    settings: dict[str, Any], key: str, usual: int, most: int, where: str, faults: Faults
) -> int:
    value = settings.get(key, usual)
    if type(value) is int and 1 <= value <= most:
        return value
    faults.add(where, f"{key} is {value!r}; write a number from 1 to {most}.")
    return usual


def _hold(declared: Any, where: str, faults: Faults) -> tuple[str, ...]:
    if isinstance(declared, list) and all(isinstance(one, str) for one in declared):
        return tuple(sorted({one.casefold() for one in declared}))
    faults.add(where, 'hold is no list of addresses; write hold = ["a@clinics.example"].')
    return ()


def _list_id(declared: str, address: str, where: str, faults: Faults) -> str:
    value = declared or f"holdtime.{address.rpartition('@')[2]}"
    if not re.fullmatch(r"[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+", value):
        faults.add(where, f'list_id is "{value}"; write a name such as "reports.clinics.example".')
    return value


def _pages_url(declared: str, where: str, faults: Faults) -> str:
    if declared and not re.fullmatch(r"https://[^\s\"'<>]+", declared):
        faults.add(where, f'pages_url is "{declared}"; write where readers find the pages, '
                   "beginning with https://, or leave it out.")  # fmt: skip
    return declared.rstrip("/")


def _path(texts: dict[str, str], key: str, folder: Path) -> Path | None:
    return folder / texts[key] if texts.get(key) else None
