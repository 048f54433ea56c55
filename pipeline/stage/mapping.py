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
from pipeline.config.time_formats import is_clock
from pipeline.stage.converted import Converted, clean
from pipeline.stage.doubt import settled, with_others
from pipeline.stage.figures import NumberMarks, to_numbers, to_whole_numbers
from pipeline.stage.formats import ISO
from pipeline.stage.operators import Operators
from pipeline.stage.parts import FILE, HELD, HELD_TESTS, LINE, held_rows
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
    """Rows with FILE, LINE and the columns of their table, and the rows held instead.

    `held_tests` says what could be read of those held that tell of an indicator test.
    """

    rows: pl.DataFrame
    held: pl.DataFrame
    held_tests: pl.DataFrame


@dataclass(frozen=True)
class Mapping:
    """How rows of one table are made from what a feed's files call things."""

    feed: Feed
    kind: Kind
    columns: Sequence[Column]
    zones: Zones
    operators: Operators | None = None

    def stage(self, raw: pl.DataFrame, air_kpa: pl.Series) -> Staged:
        """Convert rows; `air_kpa` is the pressure of the air at each row's site."""
        later = [column for column in self.columns if self._is_after(column)]
        columns = [column for column in self.columns if column not in later]
        with ThreadPoolExecutor() as pool:
            done = list(pool.map(lambda one: self._convert(one, raw, air_kpa), columns))
        starts = [
            one.wall
            for column, one in zip(columns, done, strict=True)
            if column.target == "started"
        ]
        done += [self._convert(one, raw, air_kpa, *starts) for one in later]
        pairs = list(zip([*columns, *later], done, strict=True))
        held = [pl.DataFrame(schema=HELD), *(self._held(raw, *pair) for pair in pairs)]
        values = {name: value for one in done for name, value in one.values.items()}
        rows = pl.DataFrame({FILE: raw[FILE], LINE: raw[LINE], **values})
        if "ambient_kpa" in self.kind.columns:
            rows = rows.with_columns(self._ambient(values, air_kpa))
        others = {
            column.target: one.other_utc for column, one in pairs if one.other_utc is not None
        }
        read = rows
        rows = with_others(rows, others)
        is_bad = [one.is_bad for one in done if one.is_bad is not None]
        if is_bad:
            rows = rows.filter(~pl.any_horizontal(*is_bad))
        if "is_time_doubtful" in self.kind.columns:
            rows, doubtful = settled(rows, self.kind.name, tuple(others), self.zones)
            held.append(doubtful)
        staged = rows.with_columns(self._month(values).alias("month"))
        return Staged(staged, pl.concat(held), self._held_tests(read, rows))

    def _is_after(self, column: Column) -> bool:
        """True for a time that may be written without its day, which is then that of the start."""
        return column.target == "ended" and any(map(is_clock, column.formats))

    def _convert(
        self,
        column: Column,
        raw: pl.DataFrame,
        air_kpa: pl.Series,
        after: pl.Series | None = None,
    ) -> Converted:
        source = self._source(column, raw)
        kind = self.kind.columns.get(column.target)
        if kind == "VARCHAR":
            return self._words(column, source)
        source = replaced(column, source)
        if kind == "DOUBLE":
            done = to_numbers(column, source, self._marks, air_kpa)
        elif kind == "BIGINT":
            done = to_whole_numbers(column, source, self._marks)
        elif kind == "DATE":
            done = to_dates(column, source, self._formats(column))
        else:
            done = to_instants(column, source, self._formats(column), self.zones, after)
        # The feed may declare that what is no number or time means that there is none.
        return replace(done, is_bad=None) if column.otherwise == "null" else done

    def _words(self, column: Column, source: pl.Series) -> Converted:
        done = to_words(column, source)
        if column.target != "operator_code" or self.operators is None:
            return done
        return replace(
            done, values={column.target: self.operators.told(done.values[column.target])}
        )

    def _ambient(self, values: dict[str, pl.Series], air_kpa: pl.Series) -> pl.Expr:
        """The pressure that was added to gauge readings; null in a row that has none."""
        gauges = [one.target for one in self.columns if one.is_gauge and one.target in values]
        has_gauge = pl.any_horizontal(
            pl.lit(value=False), *(pl.col(n).is_not_null() for n in gauges)
        )
        return pl.when(has_gauge).then(pl.lit(air_kpa)).alias("ambient_kpa")

    @property
    def _marks(self) -> NumberMarks:
        return NumberMarks.of(self.feed.format.settings)

    def _formats(self, column: Column) -> tuple[str, ...]:
        formats = column.formats or (ISO,)
        # Real dates of these come as ISO 8601, however a cell shows them.
        if self._is_after(column):
            formats = (*formats, "%H:%M:%S")
        return (*formats, ISO) if self.feed.format.kind in ("spreadsheet", "parquet") else formats

    def _source(self, column: Column, raw: pl.DataFrame) -> pl.Series:
        if column.source is None:
            return pl.Series([column.constant]).new_from_index(0, raw.height)
        if column.more:
            return _joined(column.sources, raw)
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

    def _held_tests(self, read: pl.DataFrame, kept: pl.DataFrame) -> pl.DataFrame:
        """Unit, kind and day of the tests that were held, where both unit and day are known."""
        known = {"unit_serial", "exposed_local"} <= set(read.columns)
        if self.kind.name != "test" or not known or read.height == kept.height:
            return pl.DataFrame(schema=HELD_TESTS)
        kind = pl.col("kind") if "kind" in read.columns else pl.lit(None)
        told = read.join(kept.select(FILE, LINE), on=[FILE, LINE], how="anti").select(
            FILE, LINE, "unit_serial", kind, pl.col("exposed_local").dt.date().alias("exposed_on")
        )
        return told.drop_nulls(["unit_serial", "exposed_on"]).cast(HELD_TESTS)  # type: ignore[arg-type]

    def _month(self, values: dict[str, pl.Series]) -> pl.Expr:
        times = [pl.col(name) for name in _FIRST_TIME[self.kind.name] if name in values]
        first = pl.coalesce(*times) if times else pl.lit(None, pl.Date)
        return first.dt.month_start().cast(pl.Date)


def _joined(names: Sequence[str], raw: pl.DataFrame) -> pl.Series:
    """The texts of some columns with a blank between; a day that is a real date loses its midnight.

    Where one of them is missing the other stands alone, which fits no format of both.
    """
    parts = [clean(raw[name].cast(pl.String)) for name in names if name in raw.columns]
    if not parts:
        return pl.Series([None], dtype=pl.String).new_from_index(0, raw.height)
    parts[0] = parts[0].str.replace(r"[T ]00:00(:00(\.0+)?)?$", "")
    frame = pl.DataFrame([part.alias(str(i)) for i, part in enumerate(parts)])
    text = frame.select(pl.concat_str(pl.all(), separator=" ", ignore_nulls=True)).to_series()
    return text.set(text == "", None)
