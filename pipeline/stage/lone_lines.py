"""Records of delimited text whose quotation marks do not pair up, judged line by line.

Slow, and only for such files: one stray mark must cost its own line, not all that follow it.
"""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.base.errors import FileError
from pipeline.stage.records import LONGEST_RECORD
from pipeline.stage.text import Text

_MOST_UNCLOSED = 1000


@dataclass(frozen=True)
class LoneRecord:
    """One record: its first line (from 0), how many lines it takes, and its fields.

    No fields mean that a quotation mark in its first line is never properly closed.
    """

    first_line: int
    line_count: int
    fields: list[str] | None


def lone_records(
    text: Text, skip: int, separator: str, quote: str, width: int
) -> Iterator[LoneRecord]:
    """The records after the first `skip` lines.

    A quotation may go on over the next lines if that gives a record of the header's width;
    otherwise only the line in which it opens is at fault. Raises FileError when very many open.
    """
    position, unclosed = skip, 0
    while position < text.line_count:
        record = _record(text, position, separator, quote, width)
        yield record
        position += record.line_count
        unclosed += record.fields is None
        if unclosed > _MOST_UNCLOSED:
            raise FileError(
                f"In more than {_MOST_UNCLOSED:,} lines a text opens with {quote} and is not "
                f"closed, first before line {position:,}. Declare in the feed the quotation mark "
                "that the file has, or one that it has not."
            )


def _record(text: Text, position: int, separator: str, quote: str, width: int) -> LoneRecord:
    whole = text.line(position)
    fields = split(whole, separator, quote)
    if fields is not None:
        return LoneRecord(position, 1, fields)
    for count in range(2, min(LONGEST_RECORD, text.line_count - position) + 1):
        line = text.line(position + count - 1)
        whole += "\n" + line
        # Only a line with a mark can close a quotation, and marks come in pairs.
        if quote not in line or whole.count(quote) % 2:
            continue
        fields = split(whole, separator, quote)
        if fields is not None and len(fields) == width:
            return LoneRecord(position, count, fields)
    return LoneRecord(position, 1, None)


def split(line: str, separator: str, quote: str) -> list[str] | None:
    """The fields of one record; None when a quotation mark is not properly closed."""
    try:
        rows = list(
            csv.reader(io.StringIO(line, ""), delimiter=separator, quotechar=quote, strict=True)
        )
    except csv.Error:
        return None
    if len(rows) > 1:
        return None
    return rows[0] if rows else []


def joined(rows: list[list[str]], separator: str, quote: str) -> bytes:
    """Rows written out again so that they can be read like any others."""
    stream = io.StringIO()
    writer = csv.writer(
        stream, delimiter=separator, quotechar=quote, quoting=csv.QUOTE_ALL, lineterminator="\n"
    )
    writer.writerows(rows)
    return stream.getvalue().encode("utf-8", "replace")
