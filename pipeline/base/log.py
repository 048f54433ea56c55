"""One log line a step: counts, clinics, files and keys; never names of people, never rows."""

import logging
import sys
from typing import TextIO

LOGGER = logging.getLogger("holdtime")


def step(name: str, message: str, *, changed: bool = True) -> None:
    """Log one line of a step; at DEBUG when nothing changed, so that a quiet night is quiet."""
    LOGGER.log(logging.INFO if changed else logging.DEBUG, message, extra={"step": name})


def warn(name: str, message: str) -> None:
    """Log what a person should read although the run goes on."""
    LOGGER.warning(message, extra={"step": name})


class _Lines(logging.Formatter):
    """`2026-08-01T03:12:09Z [ stage] north-shoals cycles: 1,903 rows, 1 held`."""

    def format(self, record: logging.LogRecord) -> str:
        instant = self.formatTime(record, "%Y-%m-%dT%H:%M:%SZ")
        line = f"{instant} [{getattr(record, 'step', ''):>7}] {record.getMessage()}"
        return f"{line}\n{self.formatException(record.exc_info)}" if record.exc_info else line


def start(level: int = logging.INFO, stream: TextIO | None = None) -> None:
    """Send log lines to `stream` (standard error when none is given), instants in UTC."""
    import time

    formatter = _Lines()
    formatter.converter = time.gmtime
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(formatter)
    LOGGER.handlers[:] = [handler]
    LOGGER.setLevel(level)
    LOGGER.propagate = False
