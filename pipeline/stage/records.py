"""Where the records of delimited text begin and end, found for a whole file at once.

Works on bytes: separators and quotation marks are one ASCII character each.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.stage.text import Positions, Text

LONGEST_RECORD = 50
"""Physical lines that one record may take: a note is shorter, an unclosed quotation is not."""

_NEWLINE = ord("\n")


@dataclass(frozen=True)
class Records:
    """Bounds in the bytes of each record, its first line (from 0), its lines and separators."""

    starts: Positions
    ends: Positions
    first_lines: Positions
    line_counts: Positions
    separator_counts: Positions

    def __len__(self) -> int:
        return len(self.starts)


def find_records(text: Text, skip: int, separator: str, quote: str) -> Records | None:
    """The records after the first `skip` lines; None when quotation marks do not pair up.

    A mark opens a text only at the start of a field and closes it only at its end, or is one of
    two that stand for one. Where that does not hold, each line has to be judged by itself.
    """
    bytes_ = np.frombuffer(text.data, np.uint8)
    starts, ends = text.starts[skip:], text.ends[skip:]
    begin = int(starts[0]) if len(starts) else len(bytes_)
    is_separator = bytes_[begin:] == ord(separator)
    quotes = starts[:0]
    lines = np.arange(skip, text.line_count)
    if text.data.find(quote.encode(), begin) >= 0:
        quotes = np.flatnonzero(bytes_[begin:] == ord(quote)) + begin
        if not _pair_up(bytes_, quotes, begin, separator, quote):
            return None
        # An odd number of marks before the end of a line: it stands within a quotation.
        is_end = np.searchsorted(quotes, ends) % 2 == 0
        is_start = np.concatenate([[True], is_end[:-1]])
        starts, ends, lines = starts[is_start], ends[is_end], lines[is_start]
    line_counts = np.diff(np.append(lines, text.line_count))
    if len(line_counts) and line_counts.max() > LONGEST_RECORD:
        return None
    # A record begins where the one before ends, and separators in quotations separate nothing.
    counts = _sums(is_separator, starts - begin)
    quoted = _sums(is_separator, quotes - begin)[::2]
    some = np.flatnonzero(quoted)
    np.subtract.at(counts, np.searchsorted(starts, quotes[::2][some], "right") - 1, quoted[some])
    return Records(starts, ends, lines, line_counts, counts)


def _sums(is_counted: npt.NDArray[np.bool_], edges: Positions) -> Positions:
    """How many are true from each edge to the next."""
    return np.add.reduceat(is_counted, edges, dtype=np.int64) if len(edges) else edges


def _pair_up(
    bytes_: npt.NDArray[np.uint8], quotes: Positions, begin: int, separator: str, quote: str
) -> bool:
    if len(quotes) % 2:
        return False
    opening, closing = quotes[::2], quotes[1::2]
    bounds = np.array([ord(separator), _NEWLINE, ord(quote)], np.uint8)
    before = bytes_[np.maximum(opening - 1, 0)]
    after = bytes_[np.minimum(closing + 1, len(bytes_) - 1)]
    is_opened = np.isin(before, bounds) | (opening == begin)
    is_closed = np.isin(after, bounds) | (closing == len(bytes_) - 1)
    return bool(is_opened.all() and is_closed.all())


def equal_to(data: bytes, records: Records, line: bytes) -> npt.NDArray[np.bool_]:
    """Which records are byte for byte this line; such as a header that comes again."""
    bytes_ = np.frombuffer(data, np.uint8)
    candidates = np.flatnonzero(records.ends - records.starts == len(line))
    for offset, byte in enumerate(line):
        if not len(candidates):
            break
        candidates = candidates[bytes_[records.starts[candidates] + offset] == byte]
    found = np.zeros(len(records), np.bool_)
    found[candidates] = True
    return found
