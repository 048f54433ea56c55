"""Good records of delimited text turned into frames, those of one header together."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import polars as pl

from pipeline.config.network import Feed
from pipeline.stage.marks import Marks
from pipeline.stage.parts import FILE, LINE, sources
from pipeline.stage.records import Records
from pipeline.stage.text import Positions

_BATCH_BYTES = 32 * 1024 * 1024


@dataclass(frozen=True)
class Body:
    """The good records of one file: their bytes, where each begins, and their lines (from 1)."""

    file: int
    names: tuple[str, ...]
    data: bytes
    starts: Positions
    lines: Positions


def good_bytes(data: bytes, records: Records, good: Positions) -> tuple[bytes, Positions]:
    """The bytes of some records, each with its line end, and where each begins in them."""
    if not len(good):
        return b"", good
    starts, ends = records.starts[good], records.ends[good]
    is_gap = np.flatnonzero(np.diff(good) > 1)
    run_starts = starts[np.concatenate([[0], is_gap + 1])]
    run_ends = ends[np.append(is_gap, len(good) - 1)]
    view = memoryview(data)
    runs = [view[start:end] for start, end in zip(run_starts, run_ends, strict=True)]
    begins = np.cumsum(ends - starts + 1) - (ends - starts + 1)
    return b"\n".join([*runs, b""]), begins


def frames(files: Sequence[Sequence[Body]], feed: Feed) -> Iterator[pl.DataFrame]:
    """The rows of some files, as text, for the columns that the feed asks for.

    Rows of one file and header come in one frame, or are cut in the same places whatever files
    come with it: what one row says of another must not depend on that.
    """
    by_header: dict[tuple[str, ...], list[list[Body]]] = {}
    for bodies in files:
        of_file: dict[tuple[str, ...], list[Body]] = {}
        for body in bodies:
            if len(body.lines):
                of_file.setdefault(body.names, []).append(body)
        for names, some in of_file.items():
            by_header.setdefault(names, []).append(some)
    for names, groups in by_header.items():
        batch, size = list[Body](), 0
        for some in groups:
            of_some = sum(len(body.data) for body in some)
            if of_some >= _BATCH_BYTES:
                yield from (
                    _frame([piece], names, feed) for body in some for piece in _pieces(body)
                )
                continue
            batch += some
            size += of_some
            if size >= _BATCH_BYTES:
                yield _frame(batch, names, feed)
                batch, size = [], 0
        if batch:
            yield _frame(batch, names, feed)


def _pieces(body: Body) -> Iterator[Body]:
    """A large body cut between records, so that the memory of a conversion has a bound."""
    bounds = np.arange(0, len(body.data), _BATCH_BYTES)[1:]
    cuts = [0, *np.unique(np.searchsorted(body.starts, bounds)).tolist(), len(body.starts)]
    edges = np.append(body.starts, len(body.data))
    for first, last in zip(cuts, cuts[1:], strict=False):
        if last > first:
            begin = edges[first]
            yield replace(
                body,
                data=body.data[begin : edges[last]],
                starts=body.starts[first:last] - begin,
                lines=body.lines[first:last],
            )


def _frame(batch: list[Body], names: tuple[str, ...], feed: Feed) -> pl.DataFrame:
    marks = Marks.of(feed.format.settings)
    data = b"".join(body.data for body in batch)
    wanted = {names.index(name): name for name in sources(feed.columns) if name in names}
    frame = pl.read_csv(
        data,
        has_header=False,
        separator=marks.separator,
        quote_char=marks.quote if marks.quote.encode() in data else None,
        infer_schema=False,
        columns=sorted(wanted) or [0],
    )
    frame.columns = [wanted.get(i, "\x00unused") for i in (sorted(wanted) or [0])]
    for stand_in, mark in marks.stand_ins:
        frame = frame.with_columns(pl.all().str.replace_all(stand_in, mark, literal=True))
    counts = [len(body.lines) for body in batch]
    return frame.with_columns(
        pl.Series(FILE, np.repeat([body.file for body in batch], counts), pl.UInt32),
        pl.Series(LINE, np.concatenate([body.lines for body in batch]), pl.Int64),
    )
