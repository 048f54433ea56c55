"""Texts to days and instants: by the feed's formats, in its zone, with doubtful hours marked.

`_local` is the clinic's wall clock and `_utc` the instant, neither with a zone. They belong
together by the clinic's zone, also where the logs are written in another zone or with offsets.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import polars as pl

from pipeline.config.network import Column
from pipeline.config.time_formats import is_clock
from pipeline.stage.converted import Converted, bad_or_none, clean
from pipeline.stage.formats import read_times, shown
from pipeline.stage.rules import DATE, INSTANT


@dataclass(frozen=True)
class Zones:
    """The zone in which a feed's clocks run, and the clinic's own."""

    feed: str
    site: str


def to_instants(
    column: Column,
    source: pl.Series,
    formats: Sequence[str],
    zones: Zones,
    after: pl.Series | None = None,
) -> Converted:
    """The three columns of an instant: as logged, by the clinic's clock, and in UTC.

    An hour that happened twice counts as the first, one that never was as if the clock had not
    been put forward, until it is settled (see doubt.py). A time without a day is the first one
    not before `after`, by the same clock.
    """
    text, wall, with_offset = _read(source, [one for one in formats if not is_clock(one)])
    clocks = [one for one in formats if is_clock(one)]
    if clocks and after is not None:
        wall = wall.zip_with(wall.is_not_null(), _next(text, clocks, after))
    utc, other_utc = _to_utc(wall, zones.feed)
    local = wall
    if zones.feed != zones.site:
        local = to_local(utc, zones.site)
    if with_offset.null_count() < len(with_offset):
        utc = utc.zip_with(with_offset.is_null(), with_offset)
        local = local.zip_with(with_offset.is_null(), to_local(with_offset, zones.site))
    name = column.target
    values = {f"{name}_text": text, f"{name}_local": local, f"{name}_utc": utc}
    particulars = {"formats": shown(formats)}
    is_bad = bad_or_none(text, utc)
    return Converted(values, text, is_bad, INSTANT, particulars, wall, other_utc)


def _next(text: pl.Series, clocks: Sequence[str], after: pl.Series) -> pl.Series:
    """Times of day on the day of `after`, or on the next one where they would be before it."""
    dated = after.dt.to_string("%Y-%m-%d ") + text
    found, _ = read_times(dated, [f"%Y-%m-%d {one}" for one in clocks])
    return found.zip_with((found >= after).fill_null(value=True), found.dt.offset_by("1d"))


def to_dates(column: Column, source: pl.Series, formats: Sequence[str]) -> Converted:
    """Days of the clinic's calendar. A time of day is left out; with an offset it is no day."""
    text = clean(source)
    naive, _ = read_times(text, formats, days=True)
    day = naive.cast(pl.Date)
    particulars = {"formats": shown(formats, days=True)}
    return Converted({column.target: day}, text, bad_or_none(text, day), DATE, particulars)


def _read(source: pl.Series, formats: Sequence[str]) -> tuple[pl.Series, pl.Series, pl.Series]:
    """The text, the time as it stands, and the instant in UTC where the source says more."""
    if not isinstance(source.dtype, pl.Datetime):
        text = clean(source)
        return text, *read_times(text, formats)
    # Parquet has instants of its own, and a hundred million of them need not be read from text.
    nothing = pl.Series([None], dtype=pl.Datetime("us")).new_from_index(0, len(source))
    if source.dtype.time_zone is None:
        return source.dt.to_string("%FT%T%.f"), source, nothing
    utc = source.dt.convert_time_zone("UTC").dt.replace_time_zone(None)
    return source.dt.to_string("%FT%T%.f%:z"), nothing, utc


def _to_utc(wall: pl.Series, zone: str) -> tuple[pl.Series, pl.Series | None]:
    """Wall-clock times of a zone in UTC, and the other instant of those that are doubtful."""
    if zone == "UTC":
        return wall, None
    utc = _in_zone(wall, zone, "null")
    doubtful = (utc.is_null() & wall.is_not_null()).arg_true()
    if not len(doubtful):
        return utc, None
    times = wall.gather(doubtful)
    first, second = _in_zone(times, zone, "earliest"), _in_zone(times, zone, "latest")
    # The longest step ever made forward is a whole day, in Samoa in 2011.
    not_yet, already = (
        _in_zone(times.dt.offset_by(away), zone, "earliest").dt.offset_by(back)
        for away, back in (("-25h", "25h"), ("25h", "-25h"))
    )
    is_twice = first.is_not_null()
    other = utc.clear().extend_constant(None, len(utc))
    other = other.scatter(doubtful, second.zip_with(is_twice, already))
    return utc.scatter(doubtful, first.zip_with(is_twice, not_yet)), other


def _in_zone(
    naive: pl.Series, zone: str, ambiguous: Literal["null", "earliest", "latest"]
) -> pl.Series:
    aware = naive.dt.replace_time_zone(zone, ambiguous=ambiguous, non_existent="null")
    return aware.dt.convert_time_zone("UTC").dt.replace_time_zone(None)


def to_local(utc: pl.Series, zone: str) -> pl.Series:
    """The wall clock of a zone at these instants."""
    aware = utc.dt.replace_time_zone("UTC").dt.convert_time_zone(zone)
    return aware.dt.replace_time_zone(None)
