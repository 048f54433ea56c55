"""What a location holds, whichever way it is reached."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol


@dataclass(frozen=True)
class Found:
    """One file at a location: its path as the ledger spells it, and the address to read it at.

    `byte_count` and `modified_utc` are None where the source does not tell.
    """

    path: str
    address: str
    byte_count: int | None
    modified_utc: datetime | None


@dataclass(frozen=True)
class Listing:
    """What one look at a location gave; `refused` says, file by file, what will not be read."""

    files: list[Found] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)


class Place(Protocol):
    """A location that can be listed and read."""

    def list_files(self) -> Listing:
        """Every file that the location matches, by path; raises when it cannot be reached."""

    def read(self, found: Found) -> bytes | None:
        """The bytes of a file; None when it is still being written."""

    def close(self) -> None:
        """Let go of a connection; the next use makes another."""

    def secrets(self) -> tuple[str, ...]:
        """What may stand in no message."""
