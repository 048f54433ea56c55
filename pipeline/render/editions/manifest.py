"""The list of an edition's files with their fingerprints, and the check of all that it rests on.

The list is written as `sha256sum` writes its own, so that an inspector needs nothing of ours.
"""

import csv
import hashlib
from dataclasses import dataclass
from pathlib import Path

from pipeline.base.errors import ConfigurationError
from pipeline.render.paths import BALANCE
from pipeline.warehouse.ledger import landed_path

MANIFEST = "SHA256SUMS"


@dataclass(frozen=True)
class Verified:
    """How many files of an edition and how many landed logs were read, and every fault in them."""

    file_count: int
    log_count: int
    faults: tuple[str, ...]


def write_manifest(folder: Path) -> Path:
    """List every file below a folder with its SHA-256, by path; the list's own path."""
    lines = [f"{_fingerprint(folder / name)}  {name}\n" for name in _files(folder)]
    path = folder / MANIFEST
    path.write_bytes("".join(lines).encode("utf-8"))
    return path


def verify(folder: Path, landed: Path) -> Verified:
    """Read an edition's files, and each log that its figures were made from, again.

    `landed` is the folder of landed files. Raises ConfigurationError when the folder is no edition.
    """
    told = listed(folder)
    there = set(_files(folder))
    faults = [f"{name}: is in the list and not in the folder." for name in told.keys() - there]
    faults += [f"{name}: is in the folder and not in the list." for name in there - told.keys()]
    faults += [
        f"{name}: is not what it was when the edition was made."
        for name in told.keys() & there
        if _fingerprint(folder / name) != told[name]
    ]
    logs = {sha: path for path, sha in logs_of(folder)} if BALANCE in there else {}
    faults += [fault for sha, path in logs.items() if (fault := _log_fault(landed, sha, path))]
    return Verified(len(there), len(logs), tuple(sorted(faults)))


def logs_of(folder: Path) -> list[tuple[str, str]]:
    """Path and fingerprint of each log that an edition's balance lists, in its order."""
    with (folder / BALANCE).open(encoding="utf-8-sig", newline="") as stream:
        return [(row["path"], row["content_sha256"]) for row in csv.DictReader(stream)]


def listed(folder: Path) -> dict[str, str]:
    """The fingerprint of each file that an edition's list names; ConfigurationError without one."""
    path = folder / MANIFEST
    if not path.is_file():
        raise ConfigurationError([f"{folder} is no edition: it has no {MANIFEST}."])
    pairs = (line.split("  ", 1) for line in path.read_text(encoding="utf-8").splitlines())
    return {name: sha for sha, name in pairs}


def _files(folder: Path) -> list[str]:
    found = (path for path in folder.rglob("*") if path.is_file())
    return sorted(path.relative_to(folder).as_posix() for path in found if path.name != MANIFEST)


def _log_fault(landed: Path, sha: str, path: str) -> str | None:
    kept = landed_path(landed, sha)
    if not kept.is_file():
        return f"{path}: the log that was landed ({sha[:12]} ...) is not kept any more."
    if _fingerprint(kept) != sha:
        return f"{path}: the landed log ({sha[:12]} ...) is not what it was."
    return None


def _fingerprint(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
