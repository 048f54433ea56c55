"""Locations at other machines, through fsspec: SFTP, S3, HTTPS, SMB and whatever has a driver.

What a driver raises is its own affair, so the caller catches everything from here.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property
from typing import Any
from urllib.parse import urlsplit

from fsspec.asyn import AsyncFileSystem

from pipeline.config.credentials import Credentials
from pipeline.pull.access import Access
from pipeline.pull.drivers import READ_SECONDS, connect, disconnect
from pipeline.pull.found import Found, Listing
from pipeline.pull.tree import matched
from pipeline.pull.trouble import without_credentials
from pipeline.pull.walk import is_wild

_TIMES = ("mtime", "LastModified", "last_modified", "updated", "modified", "modify", "created")
"""Names under which drivers tell when a file was last changed, the most telling first."""
_WHOLE = {"s3", "https", "memory"}
"""Where an answer is one state of a file; elsewhere a writer may be heard between two blocks."""


@dataclass
class RemotePlace:
    """An address such as sftp://logs.example/gannet-quay/*.csv.

    `is_meant` judges what the pattern matches. The connection is made when it is first needed.
    """

    address: str
    access: Access = field(default_factory=lambda: Access(Credentials("none")))
    is_meant: Callable[[str], bool] = lambda path: True

    @cached_property
    def system(self) -> Any:
        """The connection of this location, its own."""
        return connect(self.address, self.access)

    def list_files(self) -> Listing:
        """Every file that the address matches, by path."""
        listing = Listing()
        for info in sorted(self._matched(), key=lambda info: str(info["name"])):
            path = self._spelt(info["name"])
            if not self.is_meant(path) or info["type"] == "directory":
                continue
            if info["type"] == "file":
                listing.files.append(
                    Found(path, info["name"], info.get("size"), modified_utc(info))
                )
            else:
                listing.refused.append(f"{path} is a link or no plain file; put the file there.")
        return listing

    def read(self, found: Found) -> bytes | None:
        """The bytes of a file; None when it is not as it was listed, before or after."""
        bound = {"timeout": READ_SECONDS} if isinstance(self.system, AsyncFileSystem) else {}
        data = bytes(self.system.cat_file(found.address, **bound))
        if found.byte_count not in (None, len(data)):
            return None
        if urlsplit(self.address).scheme not in _WHOLE:
            after = self.system.info(found.address)
            if (after.get("size"), modified_utc(after)) != (found.byte_count, found.modified_utc):
                return None
        return data

    def close(self) -> None:
        """Drop the connection; the next use makes another."""
        system = self.__dict__.pop("system", None)
        if system is not None:
            disconnect(system)

    def secrets(self) -> tuple[str, ...]:
        """What may stand in no message."""
        return self.access.secrets()

    def _matched(self) -> list[dict[str, Any]]:
        is_web = self.address.startswith("https://")
        pattern = self.address if is_web else self.system._strip_protocol(self.address)
        if any(is_wild(part) for part in pattern.split("/")):
            found = list(matched(self.system, pattern))
            # A link with a question mark sorts or searches an index, and is no file.
            names = [one["name"] for one in found if one["type"] == "file" and is_file(one["name"])]
            return self.system.infos(names) if is_web else found
        try:
            return self.system.infos([pattern]) if is_web else [self.system.info(pattern)]
        except FileNotFoundError:
            return []

    def _spelt(self, name: str) -> str:
        if "://" in name:
            return without_credentials(name)
        parts = urlsplit(self.address)
        host = parts.netloc.rpartition("@")[2]
        path = name.lstrip("/")
        # Some drivers leave the host, or the bucket, at the front of each name.
        is_told = not host or path.startswith(f"{host}/")
        return f"{parts.scheme}://{path}" if is_told else f"{parts.scheme}://{host}/{path}"


def is_file(address: str) -> bool:
    """True for the address of a file on a web server."""
    return "?" not in address and "#" not in address


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
