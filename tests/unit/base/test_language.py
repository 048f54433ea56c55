"""Numbers, dates and lists of each language, against the charts of the Unicode CLDR."""

from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from datetime import date, time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.base.language import (
    LANGUAGES,
    clock_text,
    day_text,
    language,
    list_text,
    month_text,
    numeral,
    percent_sign,
    plural_form,
    speaking,
    within_sentence,
)

THIN, HARD = "\N{NARROW NO-BREAK SPACE}", "\N{NO-BREAK SPACE}"

# Source: Unicode CLDR, by locale: symbols of numbers, decimal and percent patterns, the skeletons
# yMMMd and yMMMM, the short time, the standard list. A minus is the sign itself, not a hyphen.
CLDR = {
    #         1635     1234567.8               -0.5    %            3 September 2026  month
    "en-GB": ("1,635", "1,234,567.8", "−0.5", "%", "3 Sep 2026", "September 2026", "21:14"),
    "en-US": ("1,635", "1,234,567.8", "−0.5", "%", "Sep 3, 2026", "September 2026",
              f"9:14{THIN}PM"),
    "de": ("1.635", "1.234.567,8", "−0,5", f"{HARD}%", "3. Sept. 2026", "September 2026", "21:14"),
    "fr": (f"1{THIN}635", f"1{THIN}234{THIN}567,8", "−0,5", f"{HARD}%", "3 sept. 2026",
           "septembre 2026", "21:14"),
    "es": ("1635", "1.234.567,8", "−0,5", f"{HARD}%", "3 sept 2026", "septiembre de 2026",
           "21:14"),
}  # fmt: skip


@pytest.mark.parametrize("spoken", LANGUAGES)
def test_numbers_and_dates_are_written_as_the_cldr_writes_them(spoken: str) -> None:
    with speaking(spoken):
        assert CLDR[spoken] == (
            numeral(1635),
            numeral(Decimal("1234567.8")),
            numeral(Decimal("-0.5")),
            percent_sign(),
            day_text(date(2026, 9, 3)),
            month_text(date(2026, 9, 30)),
            clock_text(time(21, 14, 59)),
        )


def test_spanish_sets_thousands_apart_from_five_figures_on() -> None:
    # Source: Unicode CLDR, es, minimumGroupingDigits 2.
    with speaking("es"):
        assert [numeral(9_999), numeral(-9_999), numeral(10_000)] == ["9999", "−9999", "10.000"]


@pytest.mark.parametrize(
    ("spoken", "forms"),
    # Source: Unicode CLDR, plural rules for cardinals, of 0, 1, 2 and 1,000,000.
    [
        ("en-GB", "other one other other"),
        ("en-US", "other one other other"),
        ("de", "other one other other"),
        ("fr", "one one other many"),
        ("es", "other one other many"),
    ],
)
def test_a_number_takes_the_form_of_its_language(spoken: str, forms: str) -> None:
    with speaking(spoken):
        assert [plural_form(number) for number in (0, 1, 2, 1_000_000)] == forms.split()


@pytest.mark.parametrize(
    ("spoken", "row"),
    # Source: Unicode CLDR, list patterns, standard.
    [
        ("en-GB", "a, b and c"),
        ("en-US", "a, b, and c"),
        ("de", "a, b und c"),
        ("fr", "a, b et c"),
        ("es", "a, b y c"),
    ],
)
def test_a_list_ends_as_its_language_ends_one(spoken: str, row: str) -> None:
    with speaking(spoken):
        assert list_text(["a", "b", "c"]) == row
        assert (list_text(["a"]), list_text([])) == ("a", "")


def test_german_nouns_keep_their_capital_in_a_sentence() -> None:
    said = {}
    for spoken in LANGUAGES:
        with speaking(spoken):
            said[spoken] = within_sentence("Drying time")
    assert said.pop("de") == "Drying time"
    assert set(said.values()) == {"drying time"}


def test_a_language_holds_within_and_ends_after_even_when_something_raises() -> None:
    with pytest.raises(ZeroDivisionError), speaking("fr"):
        with speaking("de"):
            assert language() == "de"
        assert language() == "fr"
        _ = 1 / 0
    assert language() == "en-GB"


def test_a_language_that_nobody_wrote_is_a_defect() -> None:
    with pytest.raises(AssertionError, match='"nl" is no language'), speaking("nl"):
        pass


def test_a_thread_speaks_the_original_unless_the_language_is_handed_on() -> None:
    with ThreadPoolExecutor(1) as pool, speaking("de"):
        assert pool.submit(language).result() == "en-GB"
        assert pool.submit(copy_context().run, language).result() == "de"


@given(st.sampled_from(LANGUAGES), st.decimals(-(10**9), 10**9, places=2))
def test_a_number_reads_back_as_itself(spoken: str, number: Decimal) -> None:
    with speaking(spoken):
        text = numeral(number)
        point = numeral(Decimal("0.5"))[1]
    whole, _, places = text.replace("−", "-").partition(point)
    digits = "".join(sign for sign in whole if sign.isdigit() or sign == "-")
    assert Decimal(f"{digits}.{places}") == number


def test_spanish_changes_its_and_before_the_sound_of_i():
    with speaking("es"):
        assert list_text(["fuga", "inspección"]) == "fuga e inspección"
        assert list_text(["fuga", "hilo"]) == "fuga e hilo"
        assert list_text(["agua", "hielo"]) == "agua y hielo"
