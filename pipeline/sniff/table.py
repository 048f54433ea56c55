"""Texts that are tables: which separator, which line is the header, how numbers are written."""

import csv
import re
from collections import Counter
from typing import Any

import polars as pl

from pipeline.config.formats import SPACES
from pipeline.sniff.numerals import marks_of
from pipeline.sniff.totals import skip_pattern

_SEPARATORS = (";", "\t", ",", "|", "^", "~", ":", SPACES)
_MOST_LINES = 2000
_FIRST_LINES = 40
_VALUE = re.compile(r"^[^A-Za-z]*[0-9][^A-Za-z]*$")
Found = tuple[dict[str, Any], pl.DataFrame, list[str]]


def read_table(text: str) -> Found | None:
    """Settings, rows and notes; None when no separator parts most lines into the same fields."""
    lines = text.splitlines()[:_MOST_LINES]
    judged = [(_agreement(lines, one), one) for one in _SEPARATORS]
    (share, width), separator = max(judged, key=lambda pair: (pair[0][0] >= 0.5, pair[0]))
    if share < 0.5 or width < 3:
        return None
    # One line at a time: a quotation mark that is never closed would swallow the rest.
    fields = [_split(line, separator) for line in lines]
    header = header_place(fields[:_FIRST_LINES], width)
    if header is None:
        return None
    names = [name.strip() for name in fields[header]]
    rows = [row for row in fields[header + 1 :] if len(row) == len(names) and row != fields[header]]
    frame = as_frame(names, rows)
    settings: dict[str, Any] = {"separator": separator}
    if header:
        settings["header_line"] = header + 1
    if skip := skip_pattern(lines[header + 1 :]):
        settings["skip"] = skip
    notes = [f"the header seems to be on line {header + 1}."] if header else []
    return settings | number_marks(frame), frame, notes


def header_place(rows: list[list[str]], width: int) -> int | None:
    """Which of the first rows names the columns: the first that is full of different words."""
    for place, row in enumerate(rows):
        filled = [cell.strip() for cell in row if cell.strip()]
        is_named = len(set(filled)) == len(filled) and not any(map(_VALUE.match, filled))
        if len(row) >= width and len(filled) >= max(3, 0.7 * width) and is_named:
            return place
    return None


def as_frame(names: list[str], rows: list[list[str]]) -> pl.DataFrame:
    """Rows as columns of text; an empty cell is null, and a name that is there twice is out.

    So are rows that fill few of the columns, as a line of totals does.
    """
    counts = Counter(names)
    full = [row for row in rows if sum(map(bool, row)) > 0.4 * len(names)]
    return pl.DataFrame(
        {
            name: pl.Series([row[i].strip() or None for row in full], dtype=pl.String)
            for i, name in enumerate(names)
            if name and counts[name] == 1
        }
    )


def number_marks(frame: pl.DataFrame) -> dict[str, str]:
    """The decimal and thousands marks that the columns show, as settings of a format."""
    found = [marks_of(column) for column in frame.get_columns() if _is_numeric(column)]
    settings: dict[str, str] = {}
    decimals = [one.decimal for one in found if one.decimal]
    thousands = [one.thousands for one in found if one.thousands]
    if decimals and Counter(decimals).most_common(1)[0][0] == ",":
        settings["decimal"] = ","
    if thousands and thousands[0] != settings.get("decimal", "."):
        settings["thousands"] = Counter(thousands).most_common(1)[0][0]
    return settings


def _is_numeric(column: pl.Series) -> bool:
    values = column.drop_nulls()
    return len(values) > 0 and bool(values.str.contains(r"^[+-]?[0-9][0-9.,' ]*$").mean() > 0.8)  # type: ignore[operator]


def _agreement(lines: list[str], separator: str) -> tuple[float, int]:
    """The share of filled lines that have the commonest number of fields, and that number."""
    counts = Counter(len(_split(line, separator)) for line in lines if line.strip())
    several = Counter({width: count for width, count in counts.items() if width > 1})
    if not several:
        return 0.0, 1
    width, count = max(several.items(), key=lambda pair: (pair[1], pair[0]))
    return count / counts.total(), width


def _split(line: str, separator: str) -> list[str]:
    if separator == SPACES:
        return re.split(r"\s{2,}", line.strip())
    try:
        return next(csv.reader([line], delimiter=separator), [])
    except csv.Error:
        return line.split(separator)
