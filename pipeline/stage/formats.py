"""The formats in which days and times are written: strptime's, and "iso" for ISO 8601.

Every text is read by the first format that fits the whole of it; nothing is guessed.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime

import polars as pl

from pipeline.base.errors import ConfigurationError

ISO = "iso"

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
    first, *others = _attempts(formats, days)
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
    iso = "2026-03-31" if days else "2026-03-31 14:30"
    return " or ".join(
        f'"{iso if one == ISO else _EXAMPLE.strftime(one)}"' for one in dict.fromkeys(formats)
    )


def _attempts(formats: Sequence[str], days: bool) -> Iterator[_Read]:
    for one in dict.fromkeys(formats):
        yield from _iso(days) if one == ISO else (_by(one), _midnight(one))


def _by(form: str) -> _Read:
    """Read by one format; gives instants in UTC when the format has an offset."""
    rust = form.replace(".%f", "%.f")

    def read(text: pl.Series) -> pl.Series:
        if ",%f" in form:
            return _by(form.replace(",%f", ".%f"))(text.str.replace(r",([0-9]+)", ".${1}"))
        try:
            found = text.str.to_datetime(rust, strict=False, time_unit="us")
        except pl.exceptions.ComputeError as error:
            told = " ".join(str(error).split())[:120]
            raise ConfigurationError(
                [f'network.toml: the format "{form}" cannot be used: {told}.']
            ) from None
        is_year = found.dt.replace_time_zone(None).is_between(_FIRST, _AFTER_LAST, closed="left")
        return found.set(~is_year, None)

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


def _iso(days: bool) -> Iterator[_Read]:
    """ISO 8601, with T or a blank; seconds, fractions and offset may be missing."""
    for form in ("%H:%M:%S", "%H:%M"):
        for between in ("T", " "):
            yield _by(f"%Y-%m-%d{between}{form}")
    if days:
        yield _by("%Y-%m-%d")
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
