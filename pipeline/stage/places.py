"""Where in a file its lines are, for files that hold several: members of an archive, or sheets.

Lines are counted on from one to the next, so that a line of a file is one line only; what is told
to a person names the member or sheet and the line in it.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import polars as pl

from pipeline.stage.parts import FILE, HELD, LINE, Account, Part, Section
from pipeline.stage.unpack import Piece


def put_together(parts: Iterator[Part], pieces: Sequence[Piece]) -> Iterator[Part]:
    """The parts of pieces as parts of the files that they came in.

    A reader tells of a piece's lines before, or together with, what stands on them.
    """
    ends: dict[int, int] = {}
    offsets = [0] * len(pieces)
    for part in parts:
        accounts: dict[int, Account] = {}
        sections: list[Section] = []
        for position, account in sorted(part.accounts.items()):
            piece = pieces[position]
            offsets[position] = ends.get(piece.file, 0)
            ends[piece.file] = offsets[position] + max(account.line_count, account.last_line)
            if account.reason and piece.name:
                account = replace(account, reason=f'"{piece.name}": {account.reason}')
            accounts[piece.file] = accounts.get(piece.file, Account()) + account
            if piece.name:
                sections.append(Section(piece.file, offsets[position], f'"{piece.name}"'))
        for one in part.sections:
            piece, offset = pieces[one.file], offsets[one.file] + one.offset
            name = f'"{piece.name}", {one.name}' if piece.name else one.name
            sections.append(Section(piece.file, offset, name))
        rows = {table: _placed(frame, pieces, offsets) for table, frame in part.rows.items()}
        yield Part(accounts, rows, _placed(part.held, pieces, offsets), tuple(sections))


def _placed(frame: pl.DataFrame, pieces: Sequence[Piece], offsets: Sequence[int]) -> pl.DataFrame:
    files = pl.Series([piece.file for piece in pieces], dtype=pl.UInt32)
    offset = pl.Series(offsets, dtype=pl.Int64)
    at = frame[FILE]
    return frame.with_columns(
        files.gather(at).alias(FILE), (frame[LINE] + offset.gather(at)).alias(LINE)
    )


@dataclass
class Places:
    """The sections of a batch's files that are known so far."""

    by_file: dict[int, list[Section]] = field(default_factory=dict)

    def add(self, sections: Sequence[Section]) -> None:
        """Note sections; one that begins where another did says more of the same lines."""
        for one in sections:
            known = self.by_file.setdefault(one.file, [])
            known[:] = [other for other in known if other.offset != one.offset]
            known.append(one)
            known.sort(key=lambda section: section.offset)

    def named(self, held: pl.DataFrame) -> pl.DataFrame:
        """Held rows whose message names the member or sheet, and the line in it."""
        if not self.by_file or not held.height:
            return held
        messages = [
            self._told(file, line) + message
            for file, line, message in held.select(FILE, LINE, "message").iter_rows()
        ]
        return held.with_columns(pl.Series("message", messages, pl.String)).cast(HELD)  # type: ignore[arg-type]

    def rows(self) -> pl.DataFrame:
        """The sections as rows of their table."""
        told = [
            (one.file, one.offset, one.name)
            for sections in self.by_file.values()
            for one in sections
        ]
        schema = {FILE: pl.UInt32, "line_offset": pl.Int64, "name": pl.String}
        return pl.DataFrame(told, schema=schema, orient="row")

    def _told(self, file: int, line: int) -> str:
        sections = self.by_file.get(file)
        if not sections:
            return ""
        at = bisect_right([one.offset for one in sections], line - 1) - 1
        return f"{sections[at].name}, line {line - sections[at].offset:,}: "
