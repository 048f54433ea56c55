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
from pipeline.stage.headings import Heading, Headings
from pipeline.stage.layout import without_layout
from pipeline.stage.lone_lines import LoneRecord, joined, lone_records, split
from pipeline.stage.marks import Marks
from pipeline.stage.parts import HELD, Account, Part, held_lines, require
from pipeline.stage.records import Records, equal_to, find_records
from pipeline.stage.rules import BYTES, FIELDS, HEADER, QUOTE, Rule
from pipeline.stage.text import Text, read_text

_LONGEST_HEADER = 5


@dataclass(frozen=True)
class _Scanned:
    """One file, its lines judged: the account, the good records, and the others with a reason."""

    account: Account
    bodies: list[Body] = field(default_factory=list)
    held: list[pl.DataFrame] = field(default_factory=list)


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """Accounts and held lines first, then the rows, so many bytes at a time."""
    with ThreadPoolExecutor() as pool:
        scanned = list(pool.map(_scanned, range(len(files)), files, repeat(feed)))
    accounts = {position: one.account for position, one in enumerate(scanned)}
    held = [frame for one in scanned for frame in one.held]
    yield Part(accounts, held=pl.concat([pl.DataFrame(schema=HELD), *held]))
    for frame in frames([one.bodies for one in scanned], feed):
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
            f"The header is declared to be on line {header_line:,}, but the file ends after "
            f"{text.line_count:,}. Send it whole, or change the feed's header_line."
        )
    if header_line - 1 in text.bad:
        raise FileError(
            f"The header on line {header_line:,} holds bytes that are not {encoding}. "
            "Declare in the feed the encoding that the file has."
        )
    first, last_line = _first_heading(text, header_line, marks)
    require(feed.columns, first.names, f"The header on line {header_line:,}")
    header = text.data[text.starts[header_line - 1] : text.ends[last_line - 1]]
    text = without_layout(text, last_line, marks, settings)
    headings = Headings.of(feed.columns, marks, first)
    scan = _Scan(file, feed.kind, text, last_line, header, first, headings, marks, encoding)
    records = find_records(text, last_line, marks.separator, marks.quote)
    return scan.of_lone_lines() if records is None else scan.of_records(records)


def _first_heading(text: Text, header_line: int, marks: Marks) -> tuple[Heading, int]:
    """The header and the line on which it ends, for a name in quotation marks may go on."""
    whole = ""
    for line in range(header_line, min(header_line + _LONGEST_HEADER, text.line_count + 1)):
        whole += text.line(line - 1)
        names = split(whole, marks.separator, marks.quote)
        if names is not None:
            return Heading(tuple(marks.restored(name).strip() for name in names)), line
        whole += "\n"
    return Heading(()), header_line


@dataclass(frozen=True)
class _Scan:
    """What is known of a file when its records are judged."""

    file: int
    table: str
    text: Text
    header_line: int
    header: bytes
    first: Heading
    headings: Headings
    marks: Marks
    encoding: str

    def of_records(self, records: Records) -> _Scanned:
        """Judge all records at once."""
        text, sections = self.text, _sections(self.first, self.headings.found(self.text, records))
        edges = [*(begin for begin, _ in sections), len(records)]
        widths = np.repeat([len(heading.names) for _, heading in sections], np.diff(edges))
        has_bad_bytes = np.zeros(len(records), np.bool_)
        after = text.bad[text.bad >= self.header_line]
        has_bad_bytes[np.searchsorted(records.first_lines, after, "right") - 1] = True
        # A line of nothing but separators is an empty row of the clinic's spreadsheet.
        is_layout = records.ends - records.starts == records.separator_counts
        is_layout |= equal_to(text.data, records, self.header)
        is_layout[edges[1:-1]] = True
        is_held = records.separator_counts != widths - 1
        for i in np.flatnonzero(is_held & ~is_layout):
            is_layout[i] = not text.data[records.starts[i] : records.ends[i]].strip()
        is_layout &= ~has_bad_bytes
        held = list[pl.DataFrame]()
        if len(after):
            lines = records.first_lines[has_bad_bytes]
            held.append(self._held(BYTES, lines, encoding=self.encoding))
        for (begin, heading), end in zip(sections, edges[1:], strict=True):
            if heading.fault:
                is_held[begin:end] = True
                is_under = ~(is_layout | has_bad_bytes)[begin:end]
                lines = records.first_lines[begin:end][is_under]
                held.append(self._held(HEADER, lines, fault=heading.fault))
                widths[begin:end] = records.separator_counts[begin:end] + 1
        is_held &= ~is_layout & ~has_bad_bytes
        counts = records.separator_counts + 1
        is_other_width = is_held & (counts != widths)
        for found, expected in sorted(
            set(zip(counts[is_other_width], widths[is_other_width], strict=True))
        ):
            lines = records.first_lines[is_other_width & (counts == found) & (widths == expected)]
            held.append(self._held(FIELDS, lines, found=found, expected=expected))
        account = Account(
            text.line_count,
            self.header_line
            + int(records.line_counts[is_layout].sum())
            + int((records.line_counts[~is_layout] - 1).sum()),
            int((~is_layout).sum()),
        )
        is_good = ~is_layout & ~is_held & ~has_bad_bytes
        bodies = []
        for (begin, heading), end in zip(sections, edges[1:], strict=True):
            good = np.flatnonzero(is_good[begin:end]) + begin
            data, starts = good_bytes(text.data, records, good)
            lines = records.first_lines[good] + 1
            bodies.append(Body(self.file, heading.names, data, starts, lines))
        return _Scanned(account, bodies, held)

    def of_lone_lines(self) -> _Scanned:
        """Judge each line by itself, where quotation marks do not pair up."""
        text, marks, heading = self.text, self.marks, self.first
        bad = set(text.bad.tolist())
        header = self.header.decode("utf-8", "replace")
        layout = self.header_line
        good: dict[Heading, list[LoneRecord]] = {}
        held: list[tuple[Rule, int, tuple[tuple[str, object], ...]]] = []
        width = len(heading.names)
        for one in lone_records(text, self.header_line, marks.separator, marks.quote, width):
            layout += one.line_count - 1
            later = self.headings.heading(one.fields, one.first_line)
            if not bad.isdisjoint(range(one.first_line, one.first_line + one.line_count)):
                held.append((BYTES, one.first_line, (("encoding", self.encoding),)))
            elif one.fields is None:
                held.append((QUOTE, one.first_line, ()))
            elif later or not any(one.fields) or text.line(one.first_line) == header:
                layout += 1
                heading = later or heading
            elif heading.fault:
                held.append((HEADER, one.first_line, (("fault", heading.fault),)))
            elif len(one.fields) != len(heading.names):
                told = (("found", len(one.fields)), ("expected", len(heading.names)))
                held.append((FIELDS, one.first_line, told))
            else:
                good.setdefault(heading, []).append(one)
        frames_ = [
            self._held(rule, lines, **dict(particulars))
            for (rule, particulars), lines in _grouped(held).items()
        ]
        count = len(held) + sum(map(len, good.values()))
        account = Account(text.line_count, layout, count)
        return _Scanned(account, [self._body(*one) for one in good.items()], frames_)

    def _body(self, heading: Heading, good: list[LoneRecord]) -> Body:
        marks = self.marks
        rows = [joined([one.fields or []], marks.separator, marks.quote) for one in good]
        starts = np.cumsum([0, *map(len, rows)])[:-1]
        first_lines = np.array([one.first_line + 1 for one in good], np.int64)
        return Body(self.file, heading.names, b"".join(rows), starts, first_lines)

    def _held(self, rule: Rule, lines: Iterable[int], **particulars: object) -> pl.DataFrame:
        told = [(self.file, i + 1, self.marks.restored(self.text.line(i))) for i in lines]
        return held_lines(self.table, rule, told, **particulars)


def _sections(first: Heading, later: dict[int, Heading]) -> list[tuple[int, Heading]]:
    """Where records of one header begin, by position; the first header stands before them all."""
    return [(0, first), *sorted(later.items())]


_Particulars = tuple[tuple[str, object], ...]


def _grouped(
    held: list[tuple[Rule, int, _Particulars]],
) -> dict[tuple[Rule, _Particulars], list[int]]:
    grouped: dict[tuple[Rule, _Particulars], list[int]] = {}
    for rule, line, particulars in held:
        grouped.setdefault((rule, particulars), []).append(line)
    return grouped
