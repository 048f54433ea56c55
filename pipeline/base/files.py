"""Files written whole or not at all, fingerprints, and names that are safe to write."""

import hashlib
import os
import re
import shutil
from functools import lru_cache
from pathlib import Path


def sha256(data: bytes) -> str:
    """Fingerprint of some bytes, 64 hex digits."""
    return hashlib.sha256(data).hexdigest()


def short_id(*parts: str) -> str:
    """16 hex digits that stand for these texts, the same on every machine and in every run."""
    return sha256("\x1f".join(parts).encode())[:16]


# Every link on a page asks for one.
@lru_cache(maxsize=1 << 14)
def safe_name(text: str) -> str:
    """A file name made from an id: letters, digits and dashes; anything else becomes a dash.

    Two ids that differ only in what was replaced get different names, because a part of their
    fingerprint is added whenever something was replaced.
    """
    plain = re.sub(r"[^A-Za-z0-9-]", "-", text)[:80]
    return plain if plain == text and plain else f"{plain}-{short_id(text)[:8]}"


def write_whole(path: Path, data: bytes) -> bool:
    """Write `data` so that nobody ever sees a part of it; True if the file changed.

    A file that already holds these bytes is left alone, its time of change with it.
    """
    if path.is_file() and path.read_bytes() == data:
        return False
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.part")
    with part.open("wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    part.replace(path)
    return True


def replace_folder(new: Path, target: Path) -> None:
    """Put folder `new` in the place of `target`; a folder cannot be replaced in one act."""
    old = target.with_name(f".{target.name}.old")
    shutil.rmtree(old, ignore_errors=True)
    if target.exists():
        target.rename(old)
    new.rename(target)
    shutil.rmtree(old, ignore_errors=True)
