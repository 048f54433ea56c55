"""In which formats times may be written: all that fit every value, and where the order is open."""

import itertools
import re
from dataclasses import dataclass
from datetime import datetime
from functools import cache

import polars as pl

_DAYS = {
    ".": ("%d.%m.%Y", "%m.%d.%Y", "%Y.%m.%d", "%d.%m.%y", "%m.%d.%y", "%y.%m.%d"),
    "/": ("%d/%m/%Y", "%m/%d/%Y", "%Y/%m/%d", "%d/%m/%y", "%m/%d/%y", "%y/%m/%d"),
    "-": ("%d-%m-%Y", "%m-%d-%Y", "%Y-%m-%d", "%d-%m-%y", "%m-%d-%y", "%y-%m-%d"),
    "letters": ("%d %b %Y", "%d-%b-%Y", "%d-%b-%y", "%b %d, %Y", "%b %d %Y", "%d %B %Y"),
    "none": ("%Y%m%d",),
}
_CLOCKS = ("%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M:%S %p", "%I:%M%p", "%Hh%M", "%H.%M", "%H%M%S")
_BETWEEN = (" ", "T", ", ", "-", "")
_FIRST, _AFTER_LAST = datetime(1900, 1, 1), datetime(2200, 1, 1)
_NUMBERS = re.compile(r"^\s*([0-9]{1,2})[./ -]([0-9]{1,2})[./ -]([0-9]{4}|[0-9]{2})(?![0-9])")
_YEAR_OF_TWO = re.compile(r"^\s*[0-9]{1,2}[./ -](?:[0-9]{1,2}|[A-Za-z]{3,})[./ -][0-9]{2}(?![0-9])")
_ISO = (
    r"^[0-9]{4}-[0-9]{2}-[0-9]{2}"
    r"([T ][0-9]{2}:[0-9]{2}(:[0-9]{2}([.,][0-9]+)?)?\s*(Z|[+-][0-9]{2}(:?[0-9]{2})?)?)?$"
)
_MOST_VALUES = 2000
_COUNTS = {
    "serial": (36_526.0, 54_789.0),
    "serial1904": (35_064.0, 53_327.0),
    "epoch": (946_684_800.0, 2_524_608_000.0),
    "epoch_ms": (946_684_800_000.0, 2_524_608_000_000.0),
}
"""Times that are counts: days since 1900 or 1904, seconds and milliseconds since 1970; from 2000 to
2049. The two counts of days fit almost the same numbers, so a person must say which it is."""


@dataclass(frozen=True)
class Order:
    """Dates of three numbers: how many there are, and how many could be day- or month-first."""

    count: int
    either: int

    def __str__(self) -> str:
        return f"{self.either:,} of {self.count:,} dates could be day-first or month-first"


def candidates(text: pl.Series) -> list[str]:
    """All formats of those known that fit every value; "iso" alone when the values are ISO 8601."""
    values = text.drop_nulls().str.strip_chars()
    values = values.filter(values != "").unique(maintain_order=True).head(_MOST_VALUES)
    if not len(values):
        return []
    if values.str.contains(_ISO).all():
        return ["iso"]
    counted = [form for form, (low, high) in _COUNTS.items() if _is_between(values, low, high)]
    return counted or [form for form in _formats() if _reads(values, form) is not None]


def order(text: pl.Series) -> Order:
    """How many dates begin with two numbers that could both be a month, and are not the same."""
    found = [match for one in text.drop_nulls() if (match := _NUMBERS.match(str(one)))]
    either = sum(
        1 <= int(one[1]) <= 12 and 1 <= int(one[2]) <= 12 and int(one[1]) != int(one[2])
        for one in found
    )
    return Order(len(found), either)


def is_sorted(text: pl.Series, form: str) -> bool:
    """Whether the values, read in this format, stand in order of time, up or down."""
    some = text.drop_nulls().str.strip_chars().head(_MOST_VALUES)
    values = some.cast(pl.Float64, strict=False) if form in _COUNTS else _reads(some, form)
    return values is not None and (values.is_sorted() or values.is_sorted(descending=True))


def date_hints(text: pl.Series, formats: tuple[str, ...]) -> list[str]:
    """What a person should know of a column of times that is read by these formats."""
    hints, found = [], order(text)
    told = _order_of(formats)
    if found.either and told is None:
        hints.append(f"{found}: declare the format.")
    elif found.either == found.count and found.count:
        hints.append(f"{found}: only the feed's word says that they are {told}.")
    fitting = candidates(text)
    if formats in ((), ("iso",)) and fitting and fitting != ["iso"]:
        shown = " or ".join(f'format = "{one}"' for one in fitting[:4])
        hints.append(f"every value fits {shown}; ISO 8601, which is meant now, fits not all.")
    elif formats and found.either and len(fitting) > 1:
        ordered = [one for one in fitting if is_sorted(text, one)]
        if ordered and not set(ordered) & set(formats):
            hints.append(f'only as "{ordered[0]}" do the lines stand in order of time.')
    two = sum(bool(_YEAR_OF_TWO.match(str(one))) for one in text.drop_nulls())
    if two:
        hints.append(f"{two:,} years have two digits; %y reads 00-68 as 2000-2068, 69-99 as 1900s.")
    return hints


def _is_between(values: pl.Series, low: float, high: float) -> bool:
    numbers = values.cast(pl.Float64, strict=False)
    return bool(numbers.is_between(low, high, closed="left").fill_null(value=False).all())


def _order_of(formats: tuple[str, ...]) -> str | None:
    for form in formats:
        day, month = form.find("%d"), form.find("%m")
        if min(day, month) >= 0:
            return "day-first" if day < month else "month-first"
    return None


@cache
def _formats() -> tuple[str, ...]:
    days = tuple(itertools.chain(*_DAYS.values()))
    timed = (f"{day}{gap}{clock}" for clock in _CLOCKS for gap in _BETWEEN for day in days)
    return (*days, *timed)


def _reads(values: pl.Series, form: str) -> pl.Series | None:
    """The values in this format; None when it does not fit one of them."""
    if not _matches_marks(str(values[0]), form):
        return None
    first = values.head(1).str.to_datetime(form, strict=False) if len(values) > 1 else None
    if first is not None and first.null_count():
        return None
    read = values.str.to_datetime(form, strict=False)
    is_year = read.is_between(_FIRST, _AFTER_LAST, closed="left")
    return read if is_year.fill_null(value=False).all() else None


def _matches_marks(value: str, form: str) -> bool:
    """Whether the marks between the numbers are the same: quick, and spares most of the work."""
    marks = re.sub(r"%?[0-9A-Za-z]", "", form)
    return marks == re.sub(r"[0-9A-Za-z]", "", value)
