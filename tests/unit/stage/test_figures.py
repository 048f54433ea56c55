import math
from decimal import Decimal

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.config.network import Column
from pipeline.stage.figures import NumberMarks, to_numbers, to_whole_numbers

NO_AIR = pl.Series([0.0])
MARKS = {".": NumberMarks("."), ",": NumberMarks(",")}


def number(text, decimal=".", thousands=None, **column):
    marks = NumberMarks(decimal, thousands)
    done = to_numbers(Column("set_celsius", **column), pl.Series([text]), marks, NO_AIR)
    return done.values["set_celsius"][0]


def whole(text, decimal=".", thousands=None):
    marks = NumberMarks(decimal, thousands)
    return to_whole_numbers(Column("cycle_number"), pl.Series([text]), marks).values[
        "cycle_number"
    ][0]


# text            decimal  thousands  number
@pytest.mark.parametrize(
    ("text", "decimal", "thousands", "expected"),
    [
        ("134.2", ".", None, 134.2),
        (" 134.2 ", ".", None, 134.2),
        ("\u00a0134.2", ".", None, 134.2),
        ("+134", ".", None, 134.0),
        ("-0.5", ".", None, -0.5),
        ("\u22120.5", ".", None, -0.5),
        (".5", ".", None, 0.5),
        ("1.342E2", ".", None, 134.2),
        ("134,2", ",", None, 134.2),
        ("1,234.5", ".", ",", 1234.5),
        ("1234.5", ".", ",", 1234.5),
        ("1.234.567,5", ",", ".", 1234567.5),
        ("1.234", ",", ".", 1234.0),
        ("1 234,5", ",", " ", 1234.5),
        ("1\u202f234,5", ",", " ", 1234.5),
        ("1\u2019234.5", ".", "'", 1234.5),
        ("1,234.5", ".", None, None),
        ("134,2", ".", None, None),
        ("134.2", ",", None, None),
        ("12.34", ",", ".", None),
        ("1.2345", ",", ".", None),
        ("12,34.5", ".", ",", None),
        ("1,234,56", ".", ",", None),
        (",234", ".", ",", None),
        ("1.2.3", ".", None, None),
        ("1,2,3", ",", None, None),
        ("1_000", ".", None, None),
        ("0x10", ".", None, None),
        ("nan", ".", None, None),
        ("inf", ".", None, None),
        ("-Infinity", ".", None, None),
        ("1e999", ".", None, None),
        ("134.2 °C", ".", None, None),
        ("１３４", ".", None, None),
        ("1 2", ".", None, None),
        ("1\x00", ".", None, None),
        ("--", ".", None, None),
    ],
)
def test_a_number_is_read_as_declared_or_not_at_all(text, decimal, thousands, expected):
    assert number(text, decimal, thousands) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("17", 17),
        ("017", 17),
        ("17.0", 17),
        ("17.", 17),
        (" 17 ", 17),
        ("-3", -3),
        ("17.5", None),
        ("1.6", None),
        ("1e3", None),
        ("9223372036854775807", 9223372036854775807),
        ("9223372036854775808", None),
        ("seventeen", None),
    ],
)
def test_a_whole_number_is_never_rounded_into_being(text, expected):
    assert whole(text) == expected


def test_whole_numbers_may_have_marks_between_thousands():
    assert whole("1.234", ",", ".") == 1234
    assert whole("1.234,0", ",", ".") == 1234
    assert whole("1.234", ",") is None


@pytest.mark.parametrize(
    ("text", "unit", "seconds"),
    [
        ("12:30", "mm:ss", 750.0),
        ("75:05", "mm:ss", 4505.0),
        ("1:02:03", "mm:ss", 3723.0),
        ("01:02:03", "hh:mm:ss", 3723.0),
        ("100:00:01.5", "hh:mm:ss", 360001.5),
        ("12:30", "hh:mm:ss", None),
        ("12:75", "mm:ss", None),
        ("12.30", "mm:ss", None),
        ("3.5", "min", 210.0),
    ],
)
def test_a_length_of_time_is_counted_in_seconds(text, unit, seconds):
    column = Column("hold_seconds", unit=unit)
    done = to_numbers(column, pl.Series([text]), NumberMarks(), NO_AIR)
    assert done.values["hold_seconds"][0] == seconds


def test_hours_of_incubation_may_be_written_in_days_or_clock_time():
    for text, unit in (("7", "d"), ("168", None), ("168:00:00", "hh:mm:ss"), ("10080", "min")):
        column = Column("incubation_hours", unit=unit)
        done = to_numbers(column, pl.Series([text]), NumberMarks(), NO_AIR)
        assert done.values["incubation_hours"][0] == 168.0


def test_a_gauge_pressure_has_the_air_of_its_own_site_added():
    column = Column("hold_max_kpa", unit="bar", is_gauge=True)
    air = pl.Series([101.325, 79.4951])
    done = to_numbers(column, pl.Series(["2.05", "-0.9"]), NumberMarks(), air)
    assert done.values["hold_max_kpa"].to_list() == [306.325, -10.5049]


def test_a_converted_number_carries_no_dust():
    assert number("2034", unit="degC") == 2034.0
    column = Column("hold_max_kpa", unit="mbar")
    done = to_numbers(column, pl.Series(["2034"]), NumberMarks(), NO_AIR)
    assert done.values["hold_max_kpa"][0] == 203.4


@given(st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-1e9, max_value=1e9))
def test_a_decimal_comes_back_as_it_was_written(value: Decimal):
    for decimal, thousands in ((".", None), (",", None), (",", "."), (".", ","), (",", " ")):
        text = f"{value:,f}" if thousands else f"{value:f}"
        swapped = text.translate(str.maketrans({",": thousands or "", ".": decimal}))
        assert number(swapped, decimal, thousands) == float(value)


@given(st.text(alphabet="0123456789.,eE+-_ xXinfaINFA\u0663\x00", max_size=12))
def test_no_text_becomes_a_number_that_python_reads_otherwise(text: str):
    value = number(text)
    if value is not None:
        assert math.isfinite(value)
        assert value == float(text.strip())
        assert "_" not in text


@given(st.integers(-(2**63), 2**63 - 1))
def test_every_whole_number_comes_back(value: int):
    assert whole(str(value)) == value
    assert whole(f"{value:,}".replace(",", "."), ",", ".") == value
