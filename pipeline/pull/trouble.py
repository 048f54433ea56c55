"""What goes wrong between us and a clinic: what is tried again, and how it is told.

A driver raises what it likes, so errors are sorted here and nowhere else.
"""

import re
from collections.abc import Callable
from time import sleep
from typing import TypeVar

T = TypeVar("T")
Wait = Callable[[float], object]

WAITS_SECONDS = (1.0, 4.0)
"""Before the second and the third try. A whole run must not hang on one clinic."""

_CREDENTIALS = re.compile(r"(?<=://)[^/@\s]*@")
_QUERY = re.compile(r"(?<=://)([^\s?'\"]*)\?[^\s'\"]*")


class RefusedError(Exception):
    """What no second try will change; the message is a sentence for a person."""


def check_size(byte_count: int | None, most_bytes: int) -> None:
    """Raise RefusedError for a file beyond the declared size; None is a size that is not known."""
    if byte_count is not None and byte_count > most_bytes:
        raise RefusedError(
            f"has more than {most_bytes // 2**20:,} MiB, the most that a file may have; send it in "
            "parts, or raise max_file_mib under [pull]."
        )


_LASTING = (
    RefusedError,
    PermissionError,
    FileNotFoundError,
    NotADirectoryError,
    IsADirectoryError,
    ImportError,
    ValueError,
    TypeError,
)


def is_denied(error: Exception) -> bool:
    """True when a right is missing. Drivers are known by name, as one may not be installed."""
    return (
        isinstance(error, PermissionError)
        or type(error).__name__ == "SFTPPermissionDenied"
        # smbprotocol gives it no error number: 0xc0000022 of MS-ERREF, section 2.3.1.
        or "STATUS_ACCESS_DENIED" in str(error)
    )


def is_lasting(error: Exception) -> bool:
    """True for what a second try would not change: a wrong name, a right that is missing."""
    return isinstance(error, _LASTING) or is_denied(error)


def persist(act: Callable[[], T], reset: Callable[[], object], wait: Wait = sleep) -> T:
    """Do something that may fail for a moment: three tries, with a growing pause between them.

    `reset` is called before another try. The last error is raised.
    """
    for seconds in WAITS_SECONDS:
        try:
            return act()
        except Exception as error:
            reset()
            if is_lasting(error):
                raise
            wait(seconds)
    return act()


def told(error: Exception, secrets: tuple[str, ...] = ()) -> str:
    """What went wrong, in one line of at most 300 characters and without secrets."""
    text = " ".join(without_credentials(str(error)).split()) or type(error).__name__
    for secret in secrets:
        text = text.replace(secret, "***")
    if isinstance(error, RefusedError):
        return text[:300]
    if is_denied(error):
        return f"permission denied ({text[:200]}); ask for the right to read there."
    # smbprotocol has no kind of its own for an answer that did not come in time.
    if isinstance(error, ConnectionError | TimeoutError) or text.startswith("Connection timeout"):
        return f"no answer ({text[:200]}); ask whether the server is up, and check the address."
    return text[:300]


def without_credentials(text: str) -> str:
    """The text without the user names, passwords and signed queries that addresses may carry."""
    return _QUERY.sub(r"\1", _CREDENTIALS.sub("", text))
