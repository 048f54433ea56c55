"""All that is odd about the columns of a feed, each in a sentence that ends with what to do."""

from collections.abc import Sequence

import polars as pl

from pipeline.base.quantity import CLOCK_UNITS, UNITS, dimension_of
from pipeline.config.kinds import kind
from pipeline.config.network import Column, Feed
from pipeline.sniff import synonyms
from pipeline.sniff.dates import date_hints
from pipeline.sniff.joined import joined
from pipeline.sniff.numerals import numbers, numeral_hint
from pipeline.sniff.plain import escape, lines_told, toml_text
from pipeline.sniff.pressure import pressure_hint, vacuum_hint
from pipeline.sniff.temperature import likely_units, temperature_hint

_MOST_WORDS = 20


def column_hints(feed: Feed, raw: pl.DataFrame, air_kpa: float) -> list[str]:
    """Hints for each column of a feed, from the texts as the file has them."""
    told = []
    for column in feed.columns:
        text = joined(column.sources, raw)
        if text is not None:
            hints = _hints(column, text, feed, raw, air_kpa)
            told += [f"{column.target}: {escape(one)}" for one in hints]
    return told


def _hints(
    column: Column, text: pl.Series, feed: Feed, raw: pl.DataFrame, air_kpa: float
) -> list[str]:
    text = text.replace(dict.fromkeys(column.values))
    target, dimension = column.target, dimension_of(column.target)
    if target in kind(feed.kind).instants or target.endswith("_on"):
        return list(date_hints(text, column.formats))
    if dimension is None or column.unit in CLOCK_UNITS:
        return []
    decimal, thousands = (
        feed.format.settings.get("decimal", "."),
        feed.format.settings.get("thousands"),
    )
    found: list[str | None] = [numeral_hint(text, decimal, thousands)]
    values = numbers(text, decimal, thousands)
    if dimension == "temperature":
        found.append(temperature_hint(values, column.unit))
    elif target == "air_removal_min_kpa":
        found.append(vacuum_hint(values, column.unit, column.is_gauge))
    elif dimension == "pressure":
        measured = _celsius(feed, raw)
        found.append(pressure_hint(values, column.unit, column.is_gauge, air_kpa, measured))
    return [one for one in found if one]


def _celsius(feed: Feed, raw: pl.DataFrame) -> pl.Series | None:
    """The hold temperatures of the same rows, in Celsius.

    Where they are no temperatures of steam as declared, they are taken in the unit in which they
    would be: of two columns with a wrong unit, one would else hide the other.
    """
    settings = feed.format.settings
    for column in feed.columns:
        is_hot = column.target in ("hold_min_celsius", "hold_max_celsius", "chamber_celsius")
        if not is_hot or column.source not in raw.columns:
            continue
        text = raw[column.source].cast(pl.String)
        values = numbers(text, settings.get("decimal", "."), settings.get("thousands"))
        likely, declared = likely_units(values), column.unit or "degC"
        if likely:
            unit = UNITS["temperature"][declared if declared in likely else likely[0]]
            return values * unit.factor + unit.offset
    return None


def words_to_paste(feed: Feed, raw: pl.DataFrame) -> list[str]:
    """Texts that a feed gives no meaning, by frequency, as lines ready for its `values`."""
    lines: list[str] = []
    for column in feed.columns:
        known = synonyms.words(feed.kind, column.target)
        if known is None or column.source not in raw.columns:
            continue
        text = raw[column.source].cast(pl.String).str.strip_chars()
        text = text.filter(text.is_not_null() & (text != ""))
        ours = [] if column.values else list(known)
        unknown = text.filter(~text.is_in([*column.values, *ours]))
        if not len(unknown):
            continue
        lines.append(
            f"{column.target}: {unknown.n_unique():,} on {lines_told(len(unknown))}, "
            f"{_becomes(column)}. Put under its values, with one of our words:"
        )
        lines += _paste(unknown, feed.kind, column.target)
        lines.append(f"Ours: {', '.join(known)}.")
    return lines


def _becomes(column: Column) -> str:
    if not column.values or column.otherwise == "keep":
        return "kept as they are, and no rule knows them"
    if column.otherwise == "hold":
        return "their lines are held"
    return "counted as " + (column.otherwise.removeprefix("=") or "none")


def _paste(unknown: pl.Series, kind_name: str, target: str) -> Sequence[str]:
    counted = pl.DataFrame({"text": unknown}).group_by("text").len("lines")
    counted = counted.sort(["lines", "text"], descending=[True, False])
    written = []
    for text, count in counted.head(_MOST_WORDS).iter_rows():
        likely = synonyms.our_word(kind_name, target, text)
        note = "check this; " if likely else ""
        written.append(f'    {toml_text(text)} = "{likely or "..."}"  # {note}{lines_told(count)}')
    if counted.height > _MOST_WORDS:
        written.append(f"    # and {counted.height - _MOST_WORDS:,} more")
    return written
