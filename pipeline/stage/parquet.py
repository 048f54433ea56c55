"""Parquet: columns keep their type where they are numbers or instants; all others become text.

A row counts as its line. Row groups are read one after the other, so that memory has a bound.
"""

import io
from collections.abc import Iterator, Sequence

import polars as pl

from pipeline.base.errors import FileError
from pipeline.config.network import Feed
from pipeline.stage.parts import FILE, LINE, Account, Part, require, sources

_BATCH_ROWS = 2_000_000


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """For each file its account, then its rows so many at a time."""
    for position, data in enumerate(files):
        try:
            yield from _read(position, data, feed)
        except FileError as error:
            yield Part({position: Account(reason=str(error))})


def _read(file: int, data: bytes, feed: Feed) -> Iterator[Part]:
    if not data:
        raise FileError("The file is empty (0 bytes). Send it again.")
    try:
        scan = pl.scan_parquet(io.BytesIO(data))
        names = scan.collect_schema().names()
        require(feed.columns, names, "The file")
        wanted = [name for name in sources(feed.columns) if name in names]
        count = scan.select(pl.len()).collect().item()
        yield Part({file: Account(count, 0, count)})
        for begin in range(0, count, _BATCH_ROWS):
            rows = scan.select(wanted).slice(begin, _BATCH_ROWS).collect()
            yield Part(rows={feed.kind: _with_lines(rows, file, begin)})
    # A file of a clinic may be anything; what polars makes of it has many names.
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException, OSError) as error:
        told = " ".join(str(error).split())[:200]
        raise FileError(f"The file is no readable Parquet file: {told}. Send it again.") from None


def _with_lines(rows: pl.DataFrame, file: int, begin: int) -> pl.DataFrame:
    return rows.select(_readable(column) for column in rows).with_columns(
        pl.lit(file, pl.UInt32).alias(FILE),
        pl.int_range(begin + 1, begin + 1 + rows.height, dtype=pl.Int64).alias(LINE),
    )


def _readable(column: pl.Series) -> pl.Series:
    """The column as numbers, as instants to the microsecond, or as text."""
    kind = column.dtype
    if kind.is_decimal():
        return column.cast(pl.Float64)
    if kind.is_numeric() or kind == pl.String:
        return column
    if isinstance(kind, pl.Duration):
        return column.dt.total_microseconds() / 1e6
    if isinstance(kind, pl.Datetime):
        return column.cast(pl.Datetime("us", kind.time_zone))
    if kind.is_nested() or kind == pl.Object:
        raise FileError(
            f'Column "{column.name}" holds {kind}, not one value a row. '
            "Map a column of plain values, or export it flat."
        )
    return column.cast(pl.String)
