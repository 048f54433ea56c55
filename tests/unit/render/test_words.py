"""How figures are worded: rounding, thrift with %, and nothing missing printed as a figure."""

from datetime import date, datetime
from decimal import ROUND_HALF_EVEN, Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pipeline.render import words


@pytest.mark.parametrize(
    ("share", "printed"),
    [
        (0.0, "0.0%"),
        (0.0004, "<0.1%"),  # not none, so never 0.0%
        (0.0005, "<0.1%"),  # 0.05 lies halfway, and goes to the even tenth
        (0.0006, "0.1%"),
        (0.0241, "2.4%"),
        (0.5, "50.0%"),
        (0.9996, ">99.9%"),  # not all, so never 100.0%
        (1.0, "100.0%"),
        (-0.0321, "\u22123.2%"),
        (-0.0001, "0.0%"),
        (1.12, "112.0%"),
        (None, "not known"),
    ],
)
def test_a_share_is_printed_with_one_decimal_and_never_rounded_to_none_or_all(share, printed):
    assert words.percent(share) == printed


@given(
    st.floats(-1e12, 1e12) | st.integers(-10_000_000, 10_000_000).map(lambda n: n / 10_000),
    st.integers(0, 4),
)
@example(0.05, 1)
@example(2.675, 2)
@example(-0.25, 1)
@example(4503599627370.5, 0)
def test_what_lies_halfway_goes_to_the_even_place_as_a_person_wrote_it(value, places):
    """Against the decimal arithmetic of the library, on the shortest text of the float."""
    exact = Decimal(repr(value)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
    printed = words.decimal(value, places).replace(",", "").replace("\u2212", "-")
    assert printed == (str(exact) if exact else str(abs(exact)))


@pytest.mark.parametrize(
    ("low", "high", "printed"),
    [
        (0.02, 0.041, "2.0% to 4.1%"),
        (0.0, 0.003, "up to 0.3%"),
        (0.0004, 0.003, "up to 0.3%"),
        (0.0, 0.0, "0.0%"),
        (0.0, 0.0004, "0.0% to <0.1%"),
        (0.0002, 0.0004, "<0.1%"),
        (0.9996, 1.0, ">99.9% to 100.0%"),
        (None, 0.1, "not known"),
    ],
)
def test_a_range_from_none_is_a_bound_and_ends_that_read_alike_stand_once(low, high, printed):
    assert words.percent_range(low, high) == printed


@pytest.mark.parametrize(
    ("slope", "low", "high", "printed"),
    [
        (0.0, 0.0, 0.0, ("no change", "")),
        (-0.0001, -0.0004, 0.0002, ("no change", "")),
        (0.0, -0.05, 0.05, ("0.0%", "\u22125.0% to +5.0%")),
        (0.021, 0.01, 0.03, ("+2.1%", "+1.0% to +3.0%")),
        (0.021, None, None, ("+2.1%", "")),
        (0.02, 0.02, 0.02, ("+2.0%", "+2.0%")),
        (None, None, None, ("not known", "")),
    ],
)
def test_a_change_stands_with_its_range_and_none_at_all_is_said_in_words(slope, low, high, printed):
    assert words.share_change(slope, low, high) == printed


@pytest.mark.parametrize(
    ("part", "total", "printed"),
    [
        (0, 0, ""),
        (3, 19, ""),  # 19 cycles carry no %
        (3, 20, "15.0%"),
        (0, 1204, ""),  # "0 of 1,204" says all
        (82, 2077, "3.9%"),
    ],
)
def test_no_percent_stands_below_twenty_cycles(part, total, printed):
    assert words.share_of(part, total) == printed


@pytest.mark.parametrize(
    ("part", "total", "printed"),
    [
        (0, 1204, "0 of 1,204"),
        (3, 19, "3 of 19"),
        (3, 20, "3 of 20 (15.0%)"),
        (1635, 67899, "1,635 of 67,899 (2.4%)"),
    ],
)
def test_x_of_n_always_stands_and_the_share_only_beside_it(part, total, printed):
    assert words.with_share(part, total) == printed


@pytest.mark.parametrize(
    ("number", "printed"),
    [
        (0.0, "under 1"),
        (0.99, "under 1"),
        (1.0, "1"),
        (1.5, "2"),
        (127.4, "127"),
        (None, "not known"),
    ],
)
def test_what_is_usual_is_never_nothing(number, printed):
    assert words.expected(number) == printed


@pytest.mark.parametrize(
    ("low", "high", "printed"),
    [(2, 4, "2\u20134 of 23"), (1, 1, "1 of 23")],
)
def test_a_position_is_a_range(low, high, printed):
    assert words.position(low, high, 23) == printed


@pytest.mark.parametrize(
    ("probability", "printed"),
    [
        (0.0, "under 1 in 100"),
        (0.004, "under 1 in 100"),
        (0.01, "1 in 100"),
        (0.5, "50 in 100"),
        (0.99, "99 in 100"),
        (0.996, "over 99 in 100"),
        (1.0, "over 99 in 100"),
    ],
)
def test_a_chance_is_never_none_and_never_certain(probability, printed):
    assert words.chance(probability) == printed


@pytest.mark.parametrize(
    ("value", "places", "printed"),
    [
        (10.84, 1, "10.8"),
        (0.05, 1, "0.0"),
        (-0.04, 1, "0.0"),  # never minus nothing
        (-3.25, 1, "\u22123.2"),
        (1234.5, 0, "1,234"),
        (None, 1, "not known"),
        (float("nan"), 1, "not known"),
        (float("inf"), 1, "not known"),
    ],
)
def test_a_measured_value_has_its_decimals_and_a_real_minus(value, places, printed):
    assert words.decimal(value, places) == printed


def test_dates_are_worded_the_same_in_every_language_of_the_machine():
    assert words.day(date(2026, 10, 31)) == "31 Oct 2026"
    assert words.month(date(2026, 10, 31)) == "October 2026"
    assert words.instant(datetime(2026, 10, 30, 9, 4)) == "30 Oct 2026 09:04"


def test_a_day_that_nobody_saw_is_said_to_be_so():
    assert words.day(None) == words.instant(None) == "not seen"


def test_plurals_follow_the_number():
    assert [words.days(n) for n in (0, 1, 2)] == ["0 days", "1 day", "2 days"]


def test_names_in_a_row_read_as_a_sentence():
    assert words.several(["a"]) == "a"
    assert words.several(["a", "b", "c"]) == "a, b and c"


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("Gannet Quay", "Gannet Quay"),
        ("Zürich – Süd", "Zürich – Süd"),
        ("evil \u202egnp.exe", "evil  gnp.exe"),  # a right-to-left override
        ("a\x00b\r\nc\u200b", "a b  c"),
        ("\u202e", "not known"),
        ("12\u202f000, 3,5\xa0%", "12\u202f000, 3,5\xa0%"),  # blanks that keep numbers whole
    ],
)
def test_characters_that_turn_text_round_or_are_not_seen_are_taken_out_of_names(name, printed):
    assert words.printable(name) == printed


def test_free_text_of_a_log_is_printed_as_it_came():
    assert words.worded("task", "gasket_clean") == "Door gasket clean"
    assert words.worded("task", "door <wipe>") == "door <wipe>"


@pytest.mark.parametrize(
    ("at", "printed"),
    [
        (datetime(2026, 10, 30, 9, 14), "30 Oct 2026 09:14"),
        (datetime(2026, 10, 30, 0, 1), "30 Oct 2026 00:01"),
        (datetime(2026, 10, 30), "30 Oct 2026"),  # a log of acts, or what is missing all day
    ],
)
def test_what_is_of_a_day_is_told_without_a_time(at, printed):
    assert words.moment(at) == printed
