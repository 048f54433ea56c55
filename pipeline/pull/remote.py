"""Locations at other machines, through fsspec: SFTP, S3, HTTPS and whatever has a driver.

What a driver raises is its own affair, so the caller catches everything from here.
"""

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlsplit

import fsspec

from pipeline.pull.found import Found, Listing

_CREDENTIALS = re.compile(r"(?<=://)[^/@\s]*@")
_TIMES = ("mtime", "LastModified", "last_modified", "updated", "modified", "modify", "created")
"""Names under which drivers tell when a file was last changed, the most telling first."""


@dataclass
class RemotePlace:
    """An address such as sftp://logs.example/gannet-quay/*.csv."""

    address: str

    def list_files(self) -> Listing:
        """Every file that the address matches, by path."""
        system, pattern = fsspec.core.url_to_fs(self.address)
        system.invalidate_cache()
        try:
            matched = _matched(system, pattern)
        except FileNotFoundError:
            return Listing()
        files = [
            Found(self._spelt(name), name, info.get("size"), modified_utc(info))
            for name, info in matched.items()
            if info["type"] == "file"
        ]
        return Listing(sorted(files, key=lambda found: found.path))

    def read(self, found: Found) -> bytes | None:
        """The bytes of a file; None when there are not as many as were listed."""
        system, _ = fsspec.core.url_to_fs(self.address)
        data = bytes(system.cat_file(found.address))
        return data if found.byte_count in (None, len(data)) else None

    def _spelt(self, name: str) -> str:
        if "://" in name:
            return without_credentials(name)
        parts = urlsplit(self.address)
        host = parts.hostname or ""
        path = name.lstrip("/")
        # Some drivers leave the host, or the bucket, at the front of each name.
        is_told = not host or path.startswith(f"{host}/")
        return f"{parts.scheme}://{path}" if is_told else f"{parts.scheme}://{host}/{path}"


def _matched(system: Any, pattern: str) -> dict[str, dict[str, Any]]:
    """What the pattern matches. A glob hides what goes wrong, so the folder is listed first."""
    fixed, wild, _ = re.split(r"([*?\[]|$)", pattern, maxsplit=1)
    if not wild:
        return {pattern: system.info(pattern)}
    system.ls(fixed.rpartition("/")[0], detail=False)
    return dict(system.glob(pattern, detail=True))


def without_credentials(text: str) -> str:
    """The text without the user names and passwords that addresses may carry."""
    return _CREDENTIALS.sub("", text)


def modified_utc(info: dict[str, Any]) -> datetime | None:
    """When a file was last changed, to the second; None when the driver does not tell."""
    value = next((info[name] for name in _TIMES if info.get(name) is not None), None)
    if isinstance(value, str):
        value = _from_text(value)
    if isinstance(value, int | float):
        value = datetime.fromtimestamp(value, UTC)
    if not isinstance(value, datetime):
        return None
    if value.tzinfo is not None:
        value = value.astimezone(UTC).replace(tzinfo=None)
    return value.replace(microsecond=0)


def _from_text(text: str) -> datetime | None:
    """ISO 8601, or the fourteen digits of FTP (RFC 3659, section 2.3)."""
    for read in (datetime.fromisoformat, lambda digits: datetime.strptime(digits, "%Y%m%d%H%M%S")):
        try:
            return read(text)
        except ValueError:
            continue
    return None
