"""Texts to numbers and lengths of time, strictly: what is not surely a number is none.

polars' own reading of a text is strict about everything but infinities, so a column of plain
numbers is read by it alone; only what it leaves is looked at again.
"""

import re
from dataclasses import dataclass
from typing import Any, Self

import polars as pl

from pipeline.base.quantity import CLOCK_UNITS, unit_of
from pipeline.config.network import Column
from pipeline.stage.converted import Converted, bad_or_none, clean
from pipeline.stage.rules import DURATION, NUMBER, WHOLE

_TYPESET = {"\u2212": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2019": "'"}
"""MINUS SIGN, the spaces that separate thousands, and the apostrophe, as office programs write."""

_CLOCKS = {
    "mm:ss": r"^(?:([0-9]{1,4}):)?([0-9]{1,4}):([0-5]?[0-9](?:\.[0-9]+)?)$",
    "hh:mm:ss": r"^([0-9]{1,4}):([0-5]?[0-9]):([0-5]?[0-9](?:\.[0-9]+)?)$",
}


@dataclass(frozen=True)
class NumberMarks:
    """How a feed writes numbers; `thousands` is None where it does not group digits."""

    decimal: str = "."
    thousands: str | None = None

    @classmethod
    def of(cls, settings: dict[str, Any]) -> Self:
        """The marks that a format declares."""
        return cls(settings.get("decimal", "."), settings.get("thousands"))

    def told(self) -> str:
        """How the marks are told to a person."""
        between = repr(self.thousands) if self.thousands else "nothing"
        return f"{between} between thousands"


def to_numbers(
    column: Column, source: pl.Series, marks: NumberMarks, air_kpa: pl.Series
) -> Converted:
    """Values of a quantity in our unit; gauge pressures have the air's added, row by row."""
    unit = unit_of(column.target, column.unit)
    if column.unit in CLOCK_UNITS:
        value, rule = _clock_seconds(clean(source), column.unit, marks), DURATION
        particulars = {"unit": column.unit}
    else:
        value, rule = _numbers(source, marks, pl.Float64()), NUMBER
        particulars = {"decimal": repr(marks.decimal), "thousands": marks.told()}
    is_bad = bad_or_none(source, value)
    if unit != (1.0, 0.0):
        # Nine decimals are far below any sensor, and make 2034 mbar 203.4 kPa, not a hair more.
        value = (value * unit.factor + unit.offset).round(9)
    if column.is_gauge:
        value = (value + air_kpa).round(9)
    return Converted({column.target: value}, source, is_bad, rule, particulars)


def to_whole_numbers(column: Column, source: pl.Series, marks: NumberMarks) -> Converted:
    """Whole numbers; 17.0 is one, 17.5 is none."""
    value = _numbers(source, marks, pl.Int64())
    return Converted({column.target: value}, source, bad_or_none(source, value), WHOLE)


def _numbers(source: pl.Series, marks: NumberMarks, kind: pl.DataType) -> pl.Series:
    if source.dtype.is_numeric():
        value = source.cast(kind, strict=False)
        is_same = (value.cast(source.dtype, strict=False) == source).fill_null(value=False)
        return value if kind.is_float() else value.set(~is_same, None)
    if source.dtype != pl.String:
        # An instant would become a number without a word: it counts as its text, which is none.
        source = clean(source)
    value = _plain_numbers(source, marks, kind)
    left = (value.is_null() & source.is_not_null()).arg_true()
    if not len(left):
        return value
    return value.scatter(left, _untidy_numbers(source.gather(left), marks, kind))


def _plain_numbers(source: pl.Series, marks: NumberMarks, kind: pl.DataType) -> pl.Series:
    text = source
    if marks.decimal != ".":
        text = source.str.replace(marks.decimal, ".", literal=True)
        text = text.set(source.str.contains(".", literal=True), None)
    value = text.cast(kind, strict=False)
    return value.set(~value.is_finite(), None) if kind.is_float() else value


def _untidy_numbers(source: pl.Series, marks: NumberMarks, kind: pl.DataType) -> pl.Series:
    """Numbers with blanks around, marks between thousands, or a fraction of nothing but zeros."""
    text = clean(source)
    for typeset, typed in _TYPESET.items():
        text = text.str.replace_all(typeset, typed, literal=True)
    decimal, thousands = (
        re.escape(marks.decimal),
        _TYPESET.get(marks.thousands or "", marks.thousands),
    )
    if thousands:
        grouped = rf"^[+-]?[0-9]{{1,3}}(?:{re.escape(thousands)}[0-9]{{3}})+(?:{decimal}[0-9]*)?$"
        plain = text.str.replace_all(thousands, "", literal=True)
        text = text.zip_with(~text.str.contains(grouped).fill_null(value=False), plain)
    if kind.is_integer():
        text = text.str.replace(rf"^([+-]?[0-9]+){decimal}0*$", "${1}")
    return _plain_numbers(text, marks, kind)


def _clock_seconds(text: pl.Series, unit: str, marks: NumberMarks) -> pl.Series:
    if marks.decimal != ".":
        text = text.str.replace(marks.decimal, ".", literal=True)
    parts = text.str.extract_groups(_CLOCKS[unit]).struct.unnest().cast(pl.Float64)
    hours, minutes, seconds = parts.get_columns()
    return hours.fill_null(0.0) * 3600 + minutes * 60 + seconds
