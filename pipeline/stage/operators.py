"""Operator codes as a group wants them kept: as they are, under a pseudonym, or not at all.

A pseudonym is the same for the same code, and leads back to it only with the key.
Source of the construction: RFC 2104 (HMAC), with SHA-256.
"""

import hmac
import os
import secrets
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from pipeline.base.errors import ConfigurationError
from pipeline.config.network import Network

_KEY_BYTES = 32
_DIGITS = 12


@dataclass(frozen=True)
class Operators:
    """What becomes of operator codes."""

    policy: str
    key: bytes = b""

    @classmethod
    def of(cls, network: Network) -> "Operators":
        """As the network declares; makes its key when there is none yet."""
        policy = network.privacy.operator
        return cls(policy, _key(network) if policy == "pseudonym" else b"")

    def told(self, codes: pl.Series) -> pl.Series:
        """The codes as they may be stored."""
        if self.policy == "keep":
            return codes
        if self.policy == "drop":
            return codes.clear().extend_constant(None, len(codes))
        known = codes.drop_nulls().unique()
        return codes.replace_strict(
            known, known.map_elements(self._pseudonym, pl.String), default=None
        )

    def _pseudonym(self, code: str) -> str:
        return hmac.new(self.key, code.encode(), "sha256").hexdigest()[:_DIGITS]


def _key(network: Network) -> bytes:
    """The network's key. Invented people need no protection, and the same pages on all machines."""
    if network.is_invented:
        return network.name.encode()
    path = network.privacy.key_file or network.state_folder / "operator.key"
    key = path.read_bytes() if path.is_file() else _new_key(path)
    if len(key) < _KEY_BYTES:
        raise ConfigurationError(
            [f"{path.name}: holds fewer than {_KEY_BYTES} bytes for a key; make a new one."]
        )
    return key


def _new_key(path: Path) -> bytes:
    path.parent.mkdir(parents=True, exist_ok=True)
    key = secrets.token_bytes(_KEY_BYTES)
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as stream:
        stream.write(key)
    return key
