"""Who we are at a clinic's server, and how we know the server: [credentials.NAME] of network.toml.

Holds no secret: a password, a key or a token is named by its file or environment variable.
"""

import re
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, Self

from pipeline.config.faults import Faults, did_you_mean

_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")
_SECRETS = {"password", "key", "secret", "token", "passphrase"}


@dataclass(frozen=True)
class Credentials:
    """Settings of one table; files are relative to the network's folder.

    `user` is the access key's id for a store of S3's kind, whose secret key is the password. The
    password is also the passphrase of `key_file`. `ca_file` holds the certificates of an authority
    that this machine does not know.
    """

    name: str
    user: str | None = None
    password_file: Path | None = None
    password_env: str | None = None
    key_file: Path | None = None
    known_hosts: Path | None = None
    ca_file: Path | None = None
    endpoint: str | None = None
    region: str | None = None
    anonymous: bool = False

    def for_site(self, site_id: str) -> Self:
        """The same with {site} filled in, for clinics that each have an account of their own."""
        filled: dict[str, Any] = {}
        for one in fields(self):
            value = getattr(self, one.name)
            if isinstance(value, str | Path):
                filled[one.name] = type(value)(str(value).replace("{site}", site_id))
        return replace(self, **filled)

    @property
    def has_password(self) -> bool:
        """True when a password is to be had."""
        return self.password_file is not None or self.password_env is not None


_FILES = {"password_file", "key_file", "known_hosts", "ca_file"}
_KNOWN = {one.name for one in fields(Credentials)} - {"name"}


def read_credentials(declared: Any, folder: Path, faults: Faults) -> dict[str, Credentials]:
    """Every table of credentials by its name; faults are noted."""
    if not isinstance(declared, dict):
        faults.add("network.toml", "credentials is no table; write [credentials.NAME].")
        return {}
    return {name: _read(name, one, folder, faults) for name, one in declared.items()}


def _read(name: str, declared: Any, folder: Path, faults: Faults) -> Credentials:
    where = f'network.toml: credentials "{name}"'
    if not _NAME.fullmatch(name) or not isinstance(declared, dict):
        faults.add(where, "write [credentials.NAME], with a-z, 0-9 and dashes, and its settings.")
        return Credentials(name)
    settings: dict[str, Any] = {}
    for key, value in declared.items():
        kind = bool if key == "anonymous" else str
        if key in _SECRETS:
            # The value stays out of the message: it would end in a log.
            faults.add(
                where,
                f'has "{key}" in the open; name it by password_file, password_env or key_file.',
            )
        elif key not in _KNOWN:
            faults.add(where, f'has no setting "{key}". {did_you_mean(key, _KNOWN)}')
        elif not isinstance(value, kind) or value == "":
            example = "true" if kind is bool else '"..."'
            faults.add(where, f"{key} is {value!r}; write {key} = {example}.")
        else:
            settings[key] = folder / str(value) if key in _FILES else value
    if {"password_file", "password_env"} <= settings.keys():
        faults.add(where, "has password_file and password_env; leave one out.")
    return Credentials(name, **settings)
