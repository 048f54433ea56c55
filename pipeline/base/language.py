"""The language that is spoken, and how it writes numbers, dates and lists.

`with speaking("de"):` puts a language in force for what is called within, and for nothing beside:
each thread has its own. What is made of words must not be kept from one language to another.

Signs, patterns, names of months and plural rules are those of the Unicode CLDR, by way of Babel,
which is asked once a language, or once a day and language: it is too slow for every cell of a page.
"""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from functools import lru_cache

from babel import Locale
from babel.dates import format_date, format_time, get_month_names
from babel.lists import format_list

ORIGINAL = "en-GB"
"""The language of reports/words.toml itself; the others are reports/words.<language>.toml."""
LANGUAGES = (ORIGINAL, "en-US", "de", "fr", "es")

_CAPITAL_NOUNS = ("de",)
_LEAST_GROUPED = {"es": 10_000}
"""From where on thousands stand apart; elsewhere from 1,000 on.

Source: Unicode CLDR, minimumGroupingDigits, which is 2 for es; Babel does not carry it.
"""

_SOUNDS_AS_I = re.compile("i|hi(?![ae])", re.IGNORECASE)
"""Spanish "y" becomes "e" before this sound, which the CLDR's patterns cannot say.

Source: Real Academia Española, Diccionario panhispánico de dudas (2005), "y", 1; from memory.
"""

_spoken: ContextVar[str] = ContextVar("language", default=ORIGINAL)


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Put a language in force; it must be one of LANGUAGES."""
    assert language in LANGUAGES, f'"{language}" is no language of reports/'
    token = _spoken.set(language)
    try:
        yield
    finally:
        _spoken.reset(token)


def language() -> str:
    """The language in force."""
    return _spoken.get()


def numeral(number: int | Decimal | str) -> str:
    """A number with all the places that it has, thousands apart: 1,635 or 1.635 or 1 635.

    As a text it is written with a point and without any other sign, as in "1635.20".
    """
    return _numeral(_spoken.get(), number if isinstance(number, int) else str(number))


def percent_sign() -> str:
    """What follows a number of hundredths, with the blank that a language puts before it."""
    return _signs(_spoken.get()).percent


def plural_form(number: int) -> str:
    """Which form a number asks for: "one", "other", or another of the CLDR's names."""
    return _plural(_spoken.get(), number)


def day_text(on: date) -> str:
    """A day with a short month: 31 Oct 2026, Oct 31, 2026, 31. Okt. 2026."""
    return _day(_spoken.get(), on)


def month_text(on: date) -> str:
    """The month of a day in full: October 2026."""
    return _month(_spoken.get(), on.replace(day=1))


def clock_text(at: time) -> str:
    """A time of day to the minute: 09:14, or 9:14 AM."""
    return _clock(_spoken.get(), at.hour, at.minute)


def month_names() -> tuple[str, ...]:
    """The twelve months, as short as they stand under an axis."""
    return _month_names(_spoken.get())


def list_text(names: Sequence[str]) -> str:
    """Names in a row: "a, b and c"; "" for none."""
    spoken = _spoken.get()
    row = format_list(list(names), locale=_locale(spoken))
    if spoken == "es" and _SOUNDS_AS_I.match(names[-1] if names else ""):
        head = row.removesuffix(f" y {names[-1]}")
        return row if head == row else f"{head} e {names[-1]}"
    return row


def within_sentence(title: str) -> str:
    """A title as it stands in the middle of a sentence, where no noun keeps its capital."""
    if _spoken.get() in _CAPITAL_NOUNS:
        return title
    return title[:1].lower() + title[1:]


@dataclass(frozen=True)
class _Signs:
    table: dict[int, str]
    percent: str
    least_grouped: int


@lru_cache(maxsize=1 << 14)
def _numeral(spoken: str, written: int | str) -> str:
    # A Decimal comes as its text, because 1.0 and 1.00 are equal and would be kept as one.
    number = Decimal(written)
    signs = _signs(spoken)
    apart = "," if not -signs.least_grouped < number < signs.least_grouped else ""
    return f"{number:{apart}}".translate(signs.table)


@lru_cache(maxsize=4096)
def _plural(spoken: str, number: int) -> str:
    return str(_locale(spoken).plural_form(number))


@lru_cache
def _locale(spoken: str) -> Locale:
    return Locale.parse(spoken, sep="-")


@lru_cache
def _names(spoken: str) -> Locale:
    # Names are those of the language itself: the British "Sept" would be the one of four letters.
    return Locale(_locale(spoken).language)


@lru_cache
def _signs(spoken: str) -> _Signs:
    locale = _locale(spoken)
    signs = locale.number_symbols["latn"]
    # A hyphen is not told from a dash in small print, so the minus is the sign itself.
    table = str.maketrans({",": signs["group"], ".": signs["decimal"], "-": "\N{MINUS SIGN}"})
    percent = locale.percent_formats[None].pattern.lstrip("#,0")
    return _Signs(table, percent, _LEAST_GROUPED.get(spoken, 1000))


@lru_cache(10_000)
def _day(spoken: str, on: date) -> str:
    pattern = _locale(spoken).datetime_skeletons["yMMMd"].pattern
    return str(format_date(on, pattern, locale=_names(spoken)))


@lru_cache(1_000)
def _month(spoken: str, first_on: date) -> str:
    pattern = _locale(spoken).datetime_skeletons["yMMMM"].pattern
    return str(format_date(first_on, pattern, locale=_names(spoken)))


@lru_cache(10_000)
def _clock(spoken: str, hour: int, minute: int) -> str:
    return str(format_time(time(hour, minute), "short", locale=_locale(spoken)))


@lru_cache
def _month_names(spoken: str) -> tuple[str, ...]:
    return tuple(get_month_names("abbreviated", "stand-alone", _names(spoken)).values())
