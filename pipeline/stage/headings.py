"""Headers that come again further down: as they were, or with columns added, gone or reordered.

A line is taken for a header when at least two of its fields, and more than half of the names that
the feed asks for and the first header has, are such names; no record looks like that.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.base.errors import FileError
from pipeline.config.network import Column
from pipeline.stage.lone_lines import split
from pipeline.stage.marks import Marks
from pipeline.stage.parts import require, sources
from pipeline.stage.records import Records
from pipeline.stage.text import Text


@dataclass(frozen=True)
class Heading:
    """Names of the columns from here on, or why the lines beneath cannot be read by them."""

    names: tuple[str, ...]
    fault: str | None = None


@dataclass(frozen=True)
class Headings:
    """What a later header of a file would look like, by what the feed asks for."""

    columns: Sequence[Column]
    marks: Marks
    asked: frozenset[str]

    @classmethod
    def of(cls, columns: Sequence[Column], marks: Marks, first: Heading) -> "Headings":
        """For the names that a feed asks for and that the first header has."""
        return cls(columns, marks, frozenset(sources(columns)).intersection(first.names))

    @property
    def _least(self) -> int:
        return max(2, len(self.asked) // 2 + 1)

    def heading(self, fields: Sequence[str] | None, line: int) -> Heading | None:
        """The header that these fields are; None for a record. Lines are counted from 0."""
        names = [self.marks.restored(name).strip() for name in fields or ()]
        if len(self.asked.intersection(names)) < self._least:
            return None
        try:
            require(self.columns, names, f"The header on line {line + 1:,}")
        except FileError as error:
            return Heading(tuple(names), str(error).rstrip("."))
        return Heading(tuple(names))

    def found(self, text: Text, records: Records) -> dict[int, Heading]:
        """Later headers by the positions of their records."""
        found: dict[int, Heading] = {}
        for position in sorted(set(self._candidates(text.data, records))):
            start, end = records.starts[position], records.ends[position]
            line = text.data[start:end].decode("utf-8", "replace")
            fields = split(line, self.marks.separator, self.marks.quote)
            heading = self.heading(fields, int(records.first_lines[position]))
            if heading is not None:
                found[position] = heading
        return found

    def _candidates(self, data: bytes, records: Records) -> Iterator[int]:
        """Records with a field like a name. Of n names a header has some, so a few are enough."""
        if not len(records) or len(self.asked) < 2:
            return
        longest = sorted(self.asked, key=lambda name: (-len(name), name))
        names = longest[: len(longest) - self._least + 1]
        # Hardly any file has a second header, and this search for all names at once says so soon.
        after_first = pl.Series([data[records.starts[0] :].decode("utf-8", "replace")])
        if not after_first.str.contains_any(names).any():
            return
        bounds = {self.marks.separator.encode(), self.marks.quote.encode(), b"\n", b" ", b""}
        for name in (one.encode() for one in names):
            at = data.find(name, records.starts[0])
            while at >= 0:
                after = at + len(name)
                if data[max(at - 1, 0) : at] in bounds and data[after : after + 1] in bounds:
                    position = int(np.searchsorted(records.starts, at, "right")) - 1
                    yield position
                    after = max(after, int(records.ends[position]))
                at = data.find(name, after)
