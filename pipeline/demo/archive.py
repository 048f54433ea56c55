"""The folder of logs as it is filled: files with the instant at which a site sent them."""

import os
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path


@dataclass
class Archive:
    """Writes files under one folder, and counts them."""

    folder: Path
    file_count: int = 0
    byte_count: int = 0

    def write(self, path: str, data: bytes, sent: datetime) -> None:
        """Write one file; `sent` is in UTC, and by it later copies of a row outrank earlier."""
        target = self.folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
        instant = sent.replace(tzinfo=UTC).timestamp()
        os.utime(target, (instant, instant))
        self.file_count += 1
        self.byte_count += len(data)
