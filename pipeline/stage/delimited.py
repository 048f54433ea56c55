"""Delimited text: any separator, quotation mark and encoding; every physical line accounted for.

Files of one header are converted together, because a thousand small files would otherwise cost a
thousand conversions.
"""

from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import repeat

import numpy as np
import polars as pl

from pipeline.base.errors import FileError
from pipeline.config.network import Feed
from pipeline.stage.bodies import Body, frames, good_bytes
from pipeline.stage.lone_lines import LoneRecord, joined, lone_records, split
from pipeline.stage.marks import Marks
from pipeline.stage.parts import HELD, Account, Part, held_lines, require
from pipeline.stage.records import Records, equal_to, find_records
from pipeline.stage.rules import BYTES, FIELDS, QUOTE, Rule
from pipeline.stage.text import Text, read_text


@dataclass(frozen=True)
class _Scanned:
    """One file, its lines judged: the account, the good records, and the others with a reason."""

    account: Account
    body: Body | None = None
    held: list[pl.DataFrame] = field(default_factory=list)


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """Accounts and held lines first, then the rows, so many bytes at a time."""
    with ThreadPoolExecutor() as pool:
        scanned = list(pool.map(_scanned, range(len(files)), files, repeat(feed)))
    accounts = {position: one.account for position, one in enumerate(scanned)}
    held = [frame for one in scanned for frame in one.held]
    yield Part(accounts, held=pl.concat([pl.DataFrame(schema=HELD), *held]))
    for frame in frames([one.body for one in scanned if one.body is not None], feed):
        yield Part(rows={feed.kind: frame})


def _scanned(file: int, data: bytes, feed: Feed) -> _Scanned:
    try:
        return _scan(file, data, feed)
    except FileError as error:
        return _Scanned(Account(reason=str(error)))


def _scan(file: int, data: bytes, feed: Feed) -> _Scanned:
    settings = feed.format.settings
    marks = Marks.of(settings)
    encoding = settings.get("encoding", "utf-8")
    text = marks.stood_in(read_text(data, encoding))
    header_line = settings.get("header_line", 1)
    if text.line_count < header_line:
        raise FileError(
            f"The file has {text.line_count:,} lines, but its header is declared to be on line "
            f"{header_line:,}. Send it whole, or change the feed's header_line."
        )
    if header_line - 1 in text.bad:
        raise FileError(
            f"The header on line {header_line:,} holds bytes that are not {encoding}. "
            "Declare in the feed the encoding that the file has."
        )
    names = split(text.line(header_line - 1), marks.separator, marks.quote)
    names = [marks.restored(name).strip() for name in names or []]
    require(feed.columns, names, f"The header on line {header_line:,}")
    scan = _Scan(file, feed.kind, text, header_line, tuple(names), marks, encoding)
    records = find_records(text, header_line, marks.separator, marks.quote)
    return scan.of_lone_lines() if records is None else scan.of_records(records)


@dataclass(frozen=True)
class _Scan:
    """What is known of a file when its records are judged."""

    file: int
    table: str
    text: Text
    header_line: int
    names: tuple[str, ...]
    marks: Marks
    encoding: str

    def of_records(self, records: Records) -> _Scanned:
        """Judge all records at once."""
        text, width = self.text, len(self.names)
        has_bad_bytes = np.zeros(len(records), np.bool_)
        after = text.bad[text.bad >= self.header_line]
        has_bad_bytes[np.searchsorted(records.first_lines, after, "right") - 1] = True
        # A line of nothing but separators is an empty row of the clinic's spreadsheet.
        is_layout = records.ends - records.starts == records.separator_counts
        header = text.data[text.starts[self.header_line - 1] : text.ends[self.header_line - 1]]
        is_layout |= equal_to(text.data, records, header)
        is_other_width = records.separator_counts != width - 1
        for i in np.flatnonzero(is_other_width & ~is_layout):
            is_layout[i] = not text.data[records.starts[i] : records.ends[i]].strip()
        is_layout &= ~has_bad_bytes
        is_held = is_other_width & ~is_layout & ~has_bad_bytes
        good = np.flatnonzero(~is_layout & ~is_held & ~has_bad_bytes)
        held = [self._held(BYTES, records.first_lines[has_bad_bytes], encoding=self.encoding)]
        counts = records.separator_counts + 1
        for found in np.unique(counts[is_held]):
            lines = records.first_lines[is_held & (counts == found)]
            held.append(self._held(FIELDS, lines, found=found, expected=width))
        account = Account(
            text.line_count,
            self.header_line
            + int(records.line_counts[is_layout].sum())
            + int((records.line_counts[~is_layout] - 1).sum()),
            int((~is_layout).sum()),
        )
        data, starts = good_bytes(text.data, records, good)
        lines = records.first_lines[good] + 1
        return _Scanned(account, Body(self.file, self.names, data, starts, lines), held)

    def of_lone_lines(self) -> _Scanned:
        """Judge each line by itself, where quotation marks do not pair up."""
        text, marks, width = self.text, self.marks, len(self.names)
        bad = set(text.bad.tolist())
        header = text.line(self.header_line - 1)
        layout, good = self.header_line, list[LoneRecord]()
        held: list[tuple[Rule, int, int]] = []
        for one in lone_records(text, self.header_line, marks.separator, marks.quote, width):
            layout += one.line_count - 1
            if not bad.isdisjoint(range(one.first_line, one.first_line + one.line_count)):
                held.append((BYTES, one.first_line, 0))
            elif one.fields is None:
                held.append((QUOTE, one.first_line, 0))
            elif not any(one.fields) or text.line(one.first_line) == header:
                layout += 1
            elif len(one.fields) != width:
                held.append((FIELDS, one.first_line, len(one.fields)))
            else:
                good.append(one)
        frames_ = [
            self._held(rule, lines, found=found, expected=width, encoding=self.encoding)
            for (rule, found), lines in _grouped(held).items()
        ]
        account = Account(text.line_count, layout, len(held) + len(good))
        rows = [joined([one.fields or []], marks.separator, marks.quote) for one in good]
        starts = np.cumsum([0, *map(len, rows)])[:-1]
        first_lines = np.array([one.first_line + 1 for one in good], np.int64)
        body = Body(self.file, self.names, b"".join(rows), starts, first_lines)
        return _Scanned(account, body, frames_)

    def _held(self, rule: Rule, lines: Iterable[int], **particulars: object) -> pl.DataFrame:
        told = [(self.file, i + 1, self.marks.restored(self.text.line(i))) for i in lines]
        return held_lines(self.table, rule, told, **particulars)


def _grouped(held: list[tuple[Rule, int, int]]) -> dict[tuple[Rule, int], list[int]]:
    grouped: dict[tuple[Rule, int], list[int]] = {}
    for rule, line, found in held:
        grouped.setdefault((rule, found), []).append(line)
    return grouped
