"""The formats in which days and times are written: strptime's, "iso" for ISO 8601, and counts.

Counts are of days, as spreadsheets keep them, or of seconds since 1970.

Every text is read by the first format that fits the whole of it; nothing is guessed.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta

import polars as pl

from pipeline.base.errors import ConfigurationError

ISO = "iso"
_COUNTS = {
    "serial": (datetime(1899, 12, 30), 86_400_000, 61),
    "serial1904": (datetime(1904, 1, 1), 86_400_000, 0),
    "epoch": (datetime(1970, 1, 1), 1000, 0),
    "epoch_ms": (datetime(1970, 1, 1), 1, 0),
}
"""Where each count begins, the milliseconds of one, and the least that has one meaning.

Spreadsheets count 1900 as a leap year, so a serial before 61 is a day off in some of them.
Source: ECMA-376 part 1, 18.17.4.1 (the 1900 and 1904 date systems).
"""

_INSTANT = pl.Datetime("us")
_FIRST, _AFTER_LAST = datetime(1900, 1, 1), datetime(2200, 1, 1)
"""%Y also reads "26" as the year 26, so a year beyond these is no year."""
_EXAMPLE = datetime(2026, 3, 31, 14, 30)

_Read = Callable[[pl.Series], pl.Series]


def read_times(
    text: pl.Series, formats: Sequence[str], *, days: bool = False
) -> tuple[pl.Series, pl.Series]:
    """Times without an offset as they stand, and those with one in UTC; null where none fits.

    With `days`, ISO 8601 may also be a day alone.
    """
    # Two series: scatter() writes into the one that it is called on.
    naive, utc = _nothing(text), _nothing(text)
    if not formats:
        return naive, utc
    first, *others = _attempts(formats, days, text)
    # Most often the first format fits every text, and there is nothing to put together.
    found = first(text)
    if found.dtype == _INSTANT:
        naive = found
    else:
        utc = found.dt.replace_time_zone(None)
    left = (found.is_null() & text.is_not_null()).arg_true()
    for read in others:
        if not len(left):
            break
        found = read(text.gather(left))
        is_found = found.is_not_null()
        at, values = left.filter(is_found), found.filter(is_found)
        if values.dtype == _INSTANT:
            naive.scatter(at, values)
        else:
            utc.scatter(at, values.dt.replace_time_zone(None))
        left = left.filter(~is_found)
    return naive, utc


def shown(formats: Sequence[str], *, days: bool = False) -> str:
    """The formats as a person would write the end of March 2026 in them."""
    return " or ".join(f'"{_example(one, days)}"' for one in dict.fromkeys(formats))


def _example(form: str, days: bool) -> str:
    if form == ISO:
        return "2026-03-31" if days else "2026-03-31 14:30"
    if form not in _COUNTS:
        return _EXAMPLE.strftime(form)
    begin, unit, _ = _COUNTS[form]
    return f"{(_EXAMPLE - begin) / timedelta(milliseconds=unit):.10g}"


def _attempts(formats: Sequence[str], days: bool, text: pl.Series) -> Iterator[_Read]:
    for one in dict.fromkeys(formats):
        if one in _COUNTS:
            yield _counted(one)
        else:
            yield from _iso(days, text) if one == ISO else (_by(one), _midnight(one))


def _by(form: str) -> _Read:
    """Read by one format; gives instants in UTC when the format has an offset."""
    rust = form.replace(".%f", "%.f")

    def read(text: pl.Series) -> pl.Series:
        if ",%f" in form:
            return _by(form.replace(",%f", ".%f"))(text.str.replace(r",([0-9]+)", ".${1}"))
        try:
            # Times hardly ever repeat, so a cache of them costs more than it saves.
            found = text.str.to_datetime(rust, strict=False, time_unit="us", cache=False)
        except pl.exceptions.ComputeError as error:
            told = " ".join(str(error).split())[:120]
            raise ConfigurationError(
                [f'network.toml: the format "{form}" cannot be used: {told}.']
            ) from None
        is_year = found.dt.replace_time_zone(None).is_between(_FIRST, _AFTER_LAST, closed="left")
        return found.set(~is_year, None)

    return read


def _counted(form: str) -> _Read:
    """Read a count to the millisecond; a count of seconds is an instant in UTC."""
    begin, unit, least = _COUNTS[form]

    def read(text: pl.Series) -> pl.Series:
        number = text.str.replace(",", ".", literal=True).cast(pl.Float64, strict=False)
        number = number.set(~number.is_between(least, 1e13), None)
        found = (pl.Series([begin], dtype=_INSTANT).new_from_index(0, len(number))) + (
            (number * unit).round().cast(pl.Int64, strict=False).cast(pl.Duration("ms"))
        )
        found = found.cast(_INSTANT)
        found = found.set(~found.is_between(_FIRST, _AFTER_LAST, closed="left"), None)
        return found.dt.replace_time_zone("UTC") if form.startswith("epoch") else found

    return read


def _midnight(form: str) -> _Read:
    """Read 24:00, the end of a day, which ISO 8601 long allowed and no parser takes."""

    def read(text: pl.Series) -> pl.Series:
        is_midnight = text.str.contains(r"(^|[^0-9:])24:00(:00)?([^0-9:]|$)")
        if "%H" not in form or not is_midnight.any():
            return _nothing(text)
        early = text.set(~is_midnight, None).str.replace("24:00", "00:00", literal=True)
        return _by(form)(early).dt.offset_by("1d")

    return read


def _nothing(text: pl.Series) -> pl.Series:
    return pl.Series([None], dtype=_INSTANT).new_from_index(0, len(text))


def _iso(days: bool, text: pl.Series) -> Iterator[_Read]:
    """ISO 8601, with T or a blank; seconds, fractions and offset may be missing."""
    usual = [_by(f"%Y-%m-%d{one}") for one in ("T%H:%M:%S", " %H:%M:%S", "T%H:%M", " %H:%M")]
    if days:
        usual.append(_by("%Y-%m-%d"))
    # No text fits two of these, and to fit none costs the most: the likely one goes first.
    example = text.drop_nulls().head(1)
    yield from sorted(usual, key=lambda read: not read(example).is_not_null().any())
    for form in ("%H:%M:%S%.f", "%H:%M:%S%.f%z", "%H:%M%z"):
        yield _after_tidying(_by(f"%Y-%m-%dT{form}"))
    for form in ("%H:%M:%S", "%H:%M"):
        yield _after_tidying(_midnight(f"%Y-%m-%dT{form}"))


def _after_tidying(read: _Read) -> _Read:
    return lambda text: read(_tidied(text))


def _tidied(text: pl.Series) -> pl.Series:
    """ISO 8601 with T, a point before the fraction, and an offset of hours and minutes."""
    return (
        text.str.replace(r"^([0-9-]{10})[t ]", "${1}T")
        .str.replace(",", ".", literal=True)
        .str.replace(r"\s*[Zz]$", "+00:00")
        .str.replace(r"(T[0-9:.]+)\s*([+-][0-9]{2})$", "${1}${2}:00")
    )
