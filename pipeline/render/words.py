"""Numbers, dates and shares as a reader sees them, in the language in force.

All rounding and all thrift with % is here.

Shares come in as 0-1 and leave as text. Nothing missing is ever printed as a zero: the functions
take None and say in words that the thing is not known.
"""

from collections.abc import Iterable
from datetime import date, datetime, time
from decimal import ROUND_HALF_EVEN, Decimal
from functools import lru_cache
from math import isfinite

from pipeline.base.language import (
    clock_text,
    day_text,
    language,
    list_text,
    month_text,
    numeral,
    percent_sign,
)
from pipeline.base.phrases import known, phrase

LEAST_FOR_PERCENT = 20
"""Cycles below which no % is printed: one cycle more or less would move it by five points."""

_HARD_BLANKS = "\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}"
"""They stand in numbers and before signs in several languages, and show as blanks."""
_DASH = "\N{EN DASH}"

_NEARLY, _COARSE = 1e-6, 1e9
"""How far from halfway a last place is told for sure, and the number of them up to which it is."""


def count(number: int) -> str:
    """A whole number with its thousands apart: 1,635."""
    return numeral(number)


def decimal(value: float | None, places: int = 1) -> str:
    """A measured value to so many places; never minus nothing."""
    if value is None or not isfinite(value):
        return unknown()
    return numeral(_rounded(value, places))


def percent(share: float | None) -> str:
    """A share as %, one decimal; what is neither none nor all never prints as 0.0% or 100.0%."""
    if share is None or not isfinite(share):
        return unknown()
    points = _rounded(share * 100, 1)
    if share > 0 and points == "0.0":
        return f"<{decimal(0.1)}{percent_sign()}"
    if share < 1 and points == "100.0":
        return f">{decimal(99.9)}{percent_sign()}"
    return f"{numeral(points)}{percent_sign()}"


def signed_percent(share: float) -> str:
    """A change of a share, with its sign either way."""
    return f"+{percent(share)}" if share > 0 else percent(share)


def percent_range(low: float | None, high: float | None) -> str:
    """Both ends of a range of shares: "2.0% to 4.1%"; "up to 0.3%" where it begins with none."""
    if low is None or high is None:
        return unknown()
    if float(_rounded(low * 100, 1)) == 0 and float(_rounded(high * 100, 1)) > 0:
        return phrase("number.up_to", share=percent(high))
    return _range(percent(low), percent(high))


def share_change(slope: float | None, low: float | None, high: float | None) -> tuple[str, str]:
    """A change of a share and the range in which it lies; "no change" alone where all are none."""
    if slope is None:
        return unknown(), ""
    told = "" if low is None or high is None else _range(signed_percent(low), signed_percent(high))
    if not any(float(_rounded(one * 100, 1)) for one in (slope, low or 0, high or 0)):
        return phrase("number.no_change"), ""
    return signed_percent(slope), told


def out_of(part: int, total: int) -> str:
    """So many of so many: 82 of 2,077."""
    return phrase("number.of", part=count(part), total=count(total))


def share_of(part: int, total: int) -> str:
    """The % of x of n, or "" when so few cycles do not carry one, and for none: it says all."""
    return percent(part / total) if part and total >= LEAST_FOR_PERCENT else ""


def with_share(part: int, total: int) -> str:
    """So many of so many with the share in brackets, except for small numbers."""
    share = share_of(part, total)
    return f"{out_of(part, total)} ({share})" if share else out_of(part, total)


def expected(number: float | None) -> str:
    """What would be usual for this volume; never 0, because nothing is impossible."""
    if number is None:
        return unknown()
    if number < 1:
        return phrase("number.below_one")
    return count(int(_rounded(number, 0)))


def position(low: int, high: int, total: int) -> str:
    """A position as the range in which it plausibly lies: "2–4 of 23"."""
    place = count(low) if low == high else f"{count(low)}{_DASH}{count(high)}"
    return phrase("number.of", part=place, total=count(total))


def chance(probability: float) -> str:
    """A probability as so many in 100, never none and never all."""
    hundredths = min(99, max(1, int(_rounded(probability * 100, 0))))
    if hundredths == 99 and probability > 0.99:
        return phrase("number.chance_above")
    if hundredths == 1 and probability < 0.01:
        return phrase("number.chance_below")
    return phrase("number.chance", n=str(hundredths))


def day(on: date | None) -> str:
    """A day as 31 Oct 2026, or that it was not seen."""
    return day_text(on) if on else phrase("number.not_seen")


def month(on: date) -> str:
    """The month of a day: "October 2026"."""
    return month_text(on)


def instant(local: datetime | None) -> str:
    """A day and time by the clock of the unit, as 30 Oct 2026 09:14."""
    if local is None:
        return phrase("number.not_seen")
    return f"{day_text(local.date())} {clock_text(local.time())}"


def moment(local: datetime) -> str:
    """The same, and the day alone at midnight: what is of a day has no other time."""
    return day(local.date()) if local.time() == time.min else instant(local)


def days(number: int) -> str:
    """A number of days, as 1 day or 14 days."""
    return phrase("number.days", number)


def several(names: Iterable[str]) -> str:
    """Names in a row: "a", "a and b", "a, b and c"."""
    return list_text(tuple(names))


def unknown() -> str:
    """What stands where a figure would, had we got it."""
    return phrase("number.unknown")


def printable(text: str) -> str:
    """A name from outside without the characters that turn text round or are not seen at all.

    Direction overrides (Unicode's bidirectional controls) could make a name read as another.
    """
    if not text.isprintable():
        text = "".join(each if each.isprintable() or each in _HARD_BLANKS else " " for each in text)
    return text.strip() or unknown()


def worded(name: str, word: str) -> str:
    """What a stored word is called, by the table `name` of words.toml; free text as it came."""
    return _worded(language(), name, word)


@lru_cache(maxsize=1 << 14)
def _worded(spoken: str, name: str, word: str) -> str:
    return printable(known(name, word))


def as_declared() -> tuple[str, ...]:
    """On a page in another language, the sentence about texts that stay in English there."""
    return () if language().startswith("en") else (phrase("page.in_english"),)


def _range(low: str, high: str) -> str:
    # Ends that read alike say the same thing twice.
    return low if low == high else phrase("number.range", low=low, high=high)


def _rounded(value: float, places: int) -> str:
    """The text of a value with so many places, half to even; never minus nothing."""
    text = f"{value:.{places}f}"
    last_places = abs(value) * 10**places
    if last_places > _COARSE or abs(last_places % 1 - 0.5) < _NEARLY:
        # Through the shortest text of the float, so that 0.05 is the 0.05 that a person would
        # write. A Decimal takes four times as long, and only what lies halfway needs one.
        text = str(Decimal(repr(value)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN))
    return text.removeprefix("-") if value <= 0 and float(text) == 0 else text
