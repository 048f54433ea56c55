"""Folders of this machine and what is mounted there.

A clinic may write into its folder, so nothing in it is trusted: a link that leads out of the
folder is refused, and only plain files are read.
"""

import os
import stat
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pipeline.pull.found import Found, Listing
from pipeline.pull.walk import is_wild, walk

_PLAIN_READ = (
    os.O_RDONLY
    | getattr(os, "O_BINARY", 0)
    | getattr(os, "O_NOFOLLOW", 0)
    # Opening a named pipe would otherwise wait for somebody to write into it.
    | getattr(os, "O_NONBLOCK", 0)
)


@dataclass(frozen=True)
class LocalPlace:
    """A pattern such as logs/gannet-quay/*.csv, from a network's folder or from the root."""

    folder: Path
    pattern: str
    is_meant: Callable[[str], bool] = lambda path: True

    def list_files(self) -> Listing:
        """Every plain file that the pattern matches; raises OSError if a folder cannot be read.

        Links that the group itself has put on the way to an absolute location are followed; below
        the network's folder none is, since clinics may write there.
        """
        start, parts = self._split()
        inside = start if self._is_relative else Path(os.path.realpath(start))
        listing, parents = Listing(), dict[Path, Path]()
        for path in map(Path, walk(str(start), parts)):
            if not self.is_meant(path.as_posix()):
                continue
            if path.parent not in parents:
                parents[path.parent] = path.parent.resolve()
            real = parents[path.parent] / path.name
            if real.is_symlink():
                real = real.resolve()
            found = self._found(path, real, inside)
            if isinstance(found, str):
                listing.refused.append(f"{ascii(self._spelt(path))[1:-1]} {found}")
            elif found is not None:
                listing.files.append(found)
        return listing

    def read(self, found: Found) -> bytes | None:
        """The bytes of a file; None when it changed while it was read."""
        descriptor = os.open(found.address, _PLAIN_READ)
        with os.fdopen(descriptor, "rb") as stream:
            before = os.fstat(descriptor)
            # One byte more than was listed tells that it grew, however much it grew.
            data = stream.read((found.byte_count or 0) + 1)
            after = os.fstat(descriptor)
        is_still = before.st_mtime_ns == after.st_mtime_ns and len(data) == after.st_size
        return data if is_still and len(data) == found.byte_count else None

    def close(self) -> None:
        """Nothing is held open."""

    def secrets(self) -> tuple[str, ...]:
        """A folder needs no password."""
        return ()

    @property
    def _is_relative(self) -> bool:
        return not Path(self.pattern).is_absolute()

    def _split(self) -> tuple[Path, list[str]]:
        """The folder before the first wildcard, and the parts of the pattern from there on."""
        parts = list(Path(self.pattern).parts)
        fixed = 0
        while fixed < len(parts) - 1 and not is_wild(parts[fixed]):
            fixed += 1
        root = self.folder.resolve() if self._is_relative else Path()
        return Path(os.path.normpath(root.joinpath(*parts[:fixed]))), parts[fixed:]

    def _found(self, path: Path, real: Path, inside: Path) -> Found | str | None:
        """The file, or why it is refused; None for a folder and for what has just gone."""
        if not real.is_relative_to(inside):
            return "leads out of its folder by a link; put the file itself there."
        try:
            state = real.stat()
        except OSError:
            return None
        if stat.S_ISDIR(state.st_mode):
            return None
        if not stat.S_ISREG(state.st_mode):
            return "is not a plain file; take it away."
        spelt = self._spelt(path)
        try:
            spelt.encode()
        except UnicodeEncodeError:
            return "has a name that is not UTF-8; rename it."
        # The plain st_mtime is a float, and rounds the end of a second up to the next.
        modified = datetime.fromtimestamp(state.st_mtime_ns // 10**9, UTC).replace(tzinfo=None)
        return Found(spelt, str(real), state.st_size, modified)

    def _spelt(self, path: Path) -> str:
        if not self._is_relative:
            return path.as_posix()
        return Path(os.path.relpath(path, self.folder.resolve())).as_posix()
