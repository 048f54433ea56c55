"""Reads the spans of a network, some units at a time, so that memory does not grow with it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measure.catalogue import Feature
from pipeline.measure.resets import AFRESH
from pipeline.measure.spans import Spans, changes, ordinals
from pipeline.measure.tables import read
from pipeline.measure.window import Window

UNITS_AT_ONCE = 1000
SAMPLED_UNITS = 256
DAYS = 1 << 22
"""More than any ordinal: a unit's number times this, plus a day, sorts by unit and day."""


@dataclass(frozen=True, slots=True)
class Weeks:
    """Weekly values and fresh starts as they were read, of some units; `spans` makes them spans."""

    weeks: pl.DataFrame
    fresh: pl.DataFrame
    window: Window
    features: tuple[Feature, ...]

    def spans(self) -> Spans:
        """A feature's spans are those weeks of a unit and program in which it is known."""
        return _cut(_begun(self.weeks, self.fresh, self.window), self.features)


def read_spans(
    con: duckdb.DuckDBPyConnection, window: Window, features: tuple[Feature, ...]
) -> Iterator[Spans]:
    """All spans of the history, whole weeks only, some units in service at a time, by serial."""
    return (weeks.spans() for weeks in read_weeks(con, window, features))


def read_weeks(
    con: duckdb.DuckDBPyConnection, window: Window, features: tuple[Feature, ...]
) -> Iterator[Weeks]:
    """What `read_spans` makes its spans from."""
    units = read(con, "SELECT unit_serial FROM fact.service ORDER BY unit_serial")["unit_serial"]
    for first in range(0, len(units), UNITS_AT_ONCE):
        portion = units[first : first + UNITS_AT_ONCE].to_list()
        yield _weeks_of(con, window, features, portion)


def sampled_spans(
    con: duckdb.DuckDBPyConnection, window: Window, features: tuple[Feature, ...]
) -> Spans:
    """Those of some hundred units in service, whatever the portions; of all in a small network.

    By a hash of their serial numbers, because numbers of one make or one purchase stand together.
    """
    units = read(
        con,
        """
        SELECT unit_serial, FROM fact.service ORDER BY md5(unit_serial), unit_serial LIMIT $most
        """,
        most=SAMPLED_UNITS,
    )
    return spans_of(con, window, features, sorted(units["unit_serial"].to_list()))


def spans_of(
    con: duckdb.DuckDBPyConnection,
    window: Window,
    features: tuple[Feature, ...],
    units: Sequence[str],
) -> Spans:
    """All spans of the history of these units, if they are in service."""
    return _weeks_of(con, window, features, units).spans()


def _weeks_of(
    con: duckdb.DuckDBPyConnection,
    window: Window,
    features: tuple[Feature, ...],
    units: Sequence[str],
) -> Weeks:
    names = sorted(one.feature for one in features)
    weeks = read(
        con,
        f"""
        SELECT unit_serial, program, week_on, {", ".join(names)},
        FROM fact.wear_program_week
        SEMI JOIN fact.service USING (unit_serial)
        WHERE unit_serial IN (SELECT unnest($units))
            AND unit_serial BETWEEN $first AND $last
            AND week_on + 7 <= $to_on
        ORDER BY unit_serial, program, week_on, taken_from
        """,
        units=list(units),
        first=min(units, default=""),
        last=max(units, default=""),
        to_on=window.to_on,
    )
    return Weeks(weeks, _fresh_starts(con, window, units), window, features)


def _fresh_starts(
    con: duckdb.DuckDBPyConnection, window: Window, units: Sequence[str]
) -> pl.DataFrame:
    return read(
        con,
        """
        SELECT DISTINCT unit_serial, done_on,
        FROM model.task
        WHERE kind IN (SELECT unnest($afresh))
            AND done_on >= $history_on AND done_on <= $as_of_on
            AND unit_serial IN (SELECT unnest($units))
        ORDER BY unit_serial, done_on
        """,
        afresh=list(AFRESH),
        history_on=window.history_on,
        as_of_on=window.as_of_on,
        units=list(units),
    )


def _begun(weeks: pl.DataFrame, fresh: pl.DataFrame, window: Window) -> pl.DataFrame:
    """With the day from which each week counts, and whether no fresh start has come since."""
    is_unit = changes(weeks, "unit_serial")
    of_unit = np.cumsum(is_unit) - 1
    names = weeks.select("unit_serial").filter(is_unit).with_row_index("number")
    fresh = fresh.join(names, on="unit_serial", how="inner", maintain_order="left")
    number = fresh["number"].to_numpy().astype(np.int64)
    # A place before the first stands for the beginning of the history.
    fresh_unit = np.concatenate([[-1], number])
    fresh_on = np.concatenate([[-1], ordinals(fresh["done_on"])])
    key = of_unit * DAYS + ordinals(weeks["week_on"])
    before = np.searchsorted(number * DAYS + fresh_on[1:], key)
    begun_on = np.where(fresh_unit[before] == of_unit, fresh_on[before], -1)
    latest = np.full(len(names), -1)
    np.maximum.at(latest, number, fresh_on[1:])
    epoch = ordinals(pl.Series([0], dtype=pl.Int32).cast(pl.Date))[0]
    history_on = window.history_on.toordinal()
    days = np.where(begun_on < 0, history_on, begun_on) - epoch
    return weeks.with_columns(
        begun_on=pl.Series(days.astype(np.int32)).cast(pl.Date),
        is_current=pl.Series(begun_on == latest[of_unit]),
    )


def _cut(weeks: pl.DataFrame, features: tuple[Feature, ...]) -> Spans:
    names = sorted(one.feature for one in features)
    stretch = np.cumsum(changes(weeks, "unit_serial", "program", "begun_on"))
    known = [np.flatnonzero(weeks[name].is_not_null().to_numpy()) for name in names]
    place, sizes = np.concatenate(known), [len(one) for one in known]
    feature = np.repeat(np.arange(len(names)), sizes)
    span = feature * (len(weeks) + 1) + stretch[place]
    starts = _starts(span)
    heads = weeks[place[starts]].with_columns(
        feature=pl.Series(np.array(names, object)[feature[starts]], dtype=pl.String)
    )
    middles = pl.concat([weeks[name].drop_nulls().rename("middle") for name in names])
    return Spans.cut(heads, starts, ordinals(weeks["week_on"])[place], middles, features)


def _starts(numbers: NDArray[np.int64]) -> NDArray[np.int64]:
    return np.flatnonzero(np.diff(numbers, prepend=-1))
