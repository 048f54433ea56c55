"""Rows of text to rows of a staged table, by the columns that a feed declares.

A text that does not convert holds its row, with the column and the reason; the row is then not
staged, but never lost.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import polars as pl

from pipeline.config.kinds import Kind
from pipeline.config.network import Column, Feed
from pipeline.stage.converted import Converted, clean
from pipeline.stage.figures import NumberMarks, to_numbers, to_whole_numbers
from pipeline.stage.formats import ISO
from pipeline.stage.parts import FILE, HELD, LINE, held_rows
from pipeline.stage.times import Zones, to_dates, to_instants
from pipeline.stage.words import replaced, to_words

_FIRST_TIME = {
    "cycle": ("started_local",),
    "reading": ("started_local", "instant_local"),
    "test": ("exposed_local", "read_local"),
    "task": ("done_on",),
    "closure": ("from_on",),
    "follow_up": ("done_on",),
}
"""The time that says in which month a row belongs; the second where there is no first."""


@dataclass(frozen=True)
class Staged:
    """Rows with FILE, LINE and the columns of their table, and the rows held instead."""

    rows: pl.DataFrame
    held: pl.DataFrame


@dataclass(frozen=True)
class Mapping:
    """How rows of one table are made from what a feed's files call things."""

    feed: Feed
    kind: Kind
    columns: Sequence[Column]
    zones: Zones

    def stage(self, raw: pl.DataFrame, air_kpa: pl.Series) -> Staged:
        """Convert rows; `air_kpa` is the pressure of the air at each row's site."""
        with ThreadPoolExecutor() as pool:
            done = list(pool.map(lambda one: self._convert(one, raw, air_kpa), self.columns))
        held = [
            pl.DataFrame(schema=HELD),
            *(self._held(raw, *pair) for pair in zip(self.columns, done, strict=True)),
        ]
        values = {name: value for one in done for name, value in one.values.items()}
        rows = pl.DataFrame({FILE: raw[FILE], LINE: raw[LINE], **values})
        if "is_time_doubtful" in self.kind.columns:
            rows = rows.with_columns(self._is_doubtful(done, raw.height))
        rows = rows.with_columns(self._month(values).alias("month"))
        is_bad = [one.is_bad for one in done if one.is_bad is not None]
        if is_bad:
            rows = rows.filter(~pl.any_horizontal(*is_bad))
        return Staged(rows, pl.concat(held))

    def _convert(self, column: Column, raw: pl.DataFrame, air_kpa: pl.Series) -> Converted:
        source = self._source(column, raw)
        kind = self.kind.columns.get(column.target)
        if kind == "VARCHAR":
            return to_words(column, source)
        source = replaced(column, source)
        if kind == "DOUBLE":
            done = to_numbers(column, source, self._marks, air_kpa)
        elif kind == "BIGINT":
            done = to_whole_numbers(column, source, self._marks)
        elif kind == "DATE":
            done = to_dates(column, source, self._formats(column))
        else:
            done = to_instants(column, source, self._formats(column), self.zones)
        # The feed may declare that what is no number or time means that there is none.
        return replace(done, is_bad=None) if column.otherwise == "null" else done

    @property
    def _marks(self) -> NumberMarks:
        return NumberMarks.of(self.feed.format.settings)

    def _formats(self, column: Column) -> tuple[str, ...]:
        formats = column.formats or (ISO,)
        # Real dates of these come as ISO 8601, however a cell shows them.
        return (*formats, ISO) if self.feed.format.kind in ("spreadsheet", "parquet") else formats

    def _source(self, column: Column, raw: pl.DataFrame) -> pl.Series:
        if column.source is None:
            return pl.Series([column.constant]).new_from_index(0, raw.height)
        if column.source not in raw.columns:
            return pl.Series([None], dtype=pl.String).new_from_index(0, raw.height)
        return raw[column.source]

    def _held(self, raw: pl.DataFrame, column: Column, one: Converted) -> pl.DataFrame:
        if one.is_bad is None or one.rule is None:
            return pl.DataFrame(schema=HELD)
        found = clean(one.source.filter(one.is_bad)).alias("found")
        bad = raw.select(FILE, LINE).filter(one.is_bad).with_columns(found)
        particulars = one.particulars or {}
        return held_rows(self.kind.name, one.rule, bad, column=column.target, **particulars)

    def _is_doubtful(self, done: list[Converted], height: int) -> pl.Series:
        is_doubtful = pl.Series("is_time_doubtful", [False]).new_from_index(0, height)
        for one in done:
            if one.is_doubtful is not None:
                is_doubtful |= one.is_doubtful
        return is_doubtful

    def _month(self, values: dict[str, pl.Series]) -> pl.Expr:
        times = [pl.col(name) for name in _FIRST_TIME[self.kind.name] if name in values]
        first = pl.coalesce(*times) if times else pl.lit(None, pl.Date)
        return first.dt.month_start().cast(pl.Date)
