"""A lock that the system takes back by itself when its holder dies, however it dies."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from pipeline.base.errors import BusyError

if sys.platform == "win32":
    import msvcrt

    def _take(stream: IO[bytes]) -> None:
        msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(stream: IO[bytes]) -> None:
        fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Be the only process inside for this file. Raises BusyError when another is, at once."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("ab") as stream:
        try:
            _take(stream)
        except OSError:
            raise BusyError(
                f"{path}: another run is at work here. Nothing was done; wait for it to end."
            ) from None
        yield
