"""Texts to days and instants: by the feed's formats, in its zone, with doubtful hours marked.

`_local` is the clinic's wall clock and `_utc` the instant, neither with a zone. They belong
together by the clinic's zone, also where the logs are written in another zone or with offsets.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import polars as pl

from pipeline.config.network import Column
from pipeline.stage.converted import Converted, bad_or_none, clean
from pipeline.stage.formats import read_times, shown
from pipeline.stage.rules import DATE, INSTANT


@dataclass(frozen=True)
class Zones:
    """The zone in which a feed's clocks run, and the clinic's own."""

    feed: str
    site: str


def to_instants(
    column: Column, source: pl.Series, formats: Sequence[str], zones: Zones
) -> Converted:
    """The three columns of an instant: as logged, by the clinic's clock, and in UTC.

    An hour that happened twice counts as the first, one that never was as if the clock had not
    been put forward; both are doubtful.
    """
    text, naive, with_offset = _read(source, formats)
    utc, is_doubtful = _to_utc(naive, zones.feed)
    local = naive
    if zones.feed != zones.site:
        local = _to_local(utc, zones.site)
    if with_offset.null_count() < len(with_offset):
        utc = utc.zip_with(with_offset.is_null(), with_offset)
        local = local.zip_with(with_offset.is_null(), _to_local(with_offset, zones.site))
    name = column.target
    values = {f"{name}_text": text, f"{name}_local": local, f"{name}_utc": utc}
    particulars = {"formats": shown(formats)}
    is_bad = bad_or_none(text, utc)
    return Converted(values, text, is_bad, INSTANT, particulars, is_doubtful)


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


def _to_utc(naive: pl.Series, zone: str) -> tuple[pl.Series, pl.Series]:
    """Wall-clock times of a zone in UTC, and which of them happened twice or never."""
    if zone == "UTC":
        return naive, pl.Series([False]).new_from_index(0, len(naive))
    utc = _in_zone(naive, zone, "null")
    is_doubtful = utc.is_null() & naive.is_not_null()
    doubtful = is_doubtful.arg_true()
    if len(doubtful):
        twice = _in_zone(naive.gather(doubtful), zone, "earliest")
        # The longest step ever made forward is a whole day, in Samoa in 2011.
        before = naive.gather(doubtful).dt.offset_by("-25h")
        never = _in_zone(before, zone, "earliest").dt.offset_by("25h")
        utc = utc.scatter(doubtful, twice.zip_with(twice.is_not_null(), never))
    return utc, is_doubtful


def _in_zone(naive: pl.Series, zone: str, ambiguous: Literal["null", "earliest"]) -> pl.Series:
    aware = naive.dt.replace_time_zone(zone, ambiguous=ambiguous, non_existent="null")
    return aware.dt.convert_time_zone("UTC").dt.replace_time_zone(None)


def _to_local(utc: pl.Series, zone: str) -> pl.Series:
    aware = utc.dt.replace_time_zone("UTC").dt.convert_time_zone(zone)
    return aware.dt.replace_time_zone(None)
