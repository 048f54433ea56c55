"""The physical lines of a text file, in UTF-8, whatever it was written in."""

import codecs
from dataclasses import dataclass, field
from functools import cache

import numpy as np
import numpy.typing as npt

from pipeline.base.errors import FileError

_CUT = "\udcff"
"""Stands where a text was cut within a letter; no text of any encoding holds it."""

Positions = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Text:
    """UTF-8 with plain line ends; `starts` and `ends` of its lines, and which have bad bytes."""

    data: bytes
    starts: Positions
    ends: Positions
    bad: Positions = field(default_factory=lambda: np.empty(0, np.int64))

    @property
    def line_count(self) -> int:
        """Physical lines; what follows the last line end counts if it is anything."""
        return len(self.starts)

    def line(self, position: int) -> str:
        """The text of one line, counted from 0."""
        line = self.data[self.starts[position] : self.ends[position]]
        return line.decode("utf-8", "replace")


def read_text(data: bytes, encoding: str) -> Text:
    """Lines of a file in the declared encoding.

    Bytes that are not of the encoding cost only their line, where the encoding lets one go on
    behind them. Raises FileError for an empty file and for one that cannot be read on.
    """
    plain, is_clean = _utf8(data, encoding)
    if not plain:
        raise FileError(f"The file is empty ({len(data)} bytes). Send it again.")
    if b"\r" in plain:
        plain = plain.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    bytes_ = np.frombuffer(plain, np.uint8)
    line_ends = np.flatnonzero(bytes_ == ord("\n"))
    starts = np.concatenate([[0], line_ends + 1])
    ends = np.append(line_ends, len(plain))
    if starts[-1] == len(plain):
        starts, ends = starts[:-1], ends[:-1]
    if is_clean:
        return Text(plain, starts, ends)
    bad = np.searchsorted(starts, _bad_positions(bytes_), "right") - 1
    return Text(plain, starts, ends, np.unique(bad))


def _utf8(data: bytes, encoding: str) -> tuple[bytes, bool]:
    """The bytes as UTF-8 without a byte order mark, and whether all of them could be read."""
    if data.isascii() and _holds_ascii(encoding):
        return data, True
    encoding = _with_order(data, encoding)
    try:
        return data.decode(encoding).removeprefix("\ufeff").encode(), True
    except UnicodeError as error:
        try:
            text = data.decode(encoding, "surrogateescape").removeprefix("\ufeff")
        except UnicodeError:
            at = getattr(error, "start", 0)
            if at and at >= len(data) - 3:
                # Cut within a letter, as by a power loss: that costs the last line only.
                text = data[:at].decode(encoding).removeprefix("\ufeff") + _CUT
                return text.encode("utf-8", "surrogatepass"), False
            raise FileError(
                f"The file is not {encoding}: byte {at + 1:,} of {len(data):,} cannot be read. "
                "Declare in the feed the encoding that it has, or send it whole."
            ) from None
        return text.encode("utf-8", "surrogatepass"), False


def _with_order(data: bytes, encoding: str) -> str:
    """UTF-16 without a mark of its byte order begins with a letter whose other byte is zero."""
    if codecs.lookup(encoding).name == "utf-16" and data[:1] == b"\0" and data[1:2] != b"\0":
        return "utf-16-be"
    return encoding


@cache
def _holds_ascii(encoding: str) -> bool:
    """True when ASCII bytes mean the same in this encoding, so that nothing need be done."""
    ascii_bytes = bytes(range(128))
    try:
        return ascii_bytes.decode(encoding) == ascii_bytes.decode("ascii")
    except UnicodeError:
        return False


def _bad_positions(data: npt.NDArray[np.uint8]) -> Positions:
    """Where bytes stand that could not be decoded: ED A0 to ED BF begins nothing in true UTF-8."""
    first = np.flatnonzero(data[:-1] == 0xED)
    return first[data[first + 1] >= 0xA0]
