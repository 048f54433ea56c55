"""A first feed for a file, as TOML for a person to correct; every guess in it says so.

What fits in two ways is never decided here: both lines are written, and neither counts until a
person takes the mark away from one.
"""

import textwrap
from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.base.quantity import UNITS, dimension_of, standard_atmosphere_kpa
from pipeline.config.feeds import NEEDED
from pipeline.config.kinds import kind
from pipeline.sniff import synonyms
from pipeline.sniff.dates import candidates, is_sorted, order
from pipeline.sniff.joined import clock_columns, joined
from pipeline.sniff.meaning import Guess, guesses, likely_kind
from pipeline.sniff.numerals import numbers
from pipeline.sniff.plain import escape, lines_told, toml_text
from pipeline.sniff.pressure import likely_readings
from pipeline.sniff.shape import Shape
from pipeline.sniff.temperature import likely_units

_MOST_WORDS = 40
_FIRST_TIMES = ("started", "exposed", "instant")
"""Times that may stand in two columns. An end may be on the next day, so it is left to a person."""


@dataclass(frozen=True)
class Draft:
    """A [[feed]] as text, the serials that the file names, and how much a person must decide."""

    text: str
    serials: list[str]
    open_count: int


def draft_feed(
    shape: Shape, *, name: str, site_id: str, location: str, kind_name: str | None = None
) -> Draft:
    """The draft for a file of this shape."""
    kind_name = kind_name or likely_kind(shape.rows)
    marks = {
        key: str(value) for key, value in shape.settings.items() if key in ("decimal", "thousands")
    }
    found = guesses(shape.rows, kind_name, marks)
    lines = [
        "[[feed]]",
        f"name = {toml_text(name)}",
        f'kind = "{kind_name}"  # check this: cycle, reading, test, task, closure or follow_up',
        f"sites = [{toml_text(site_id)}]",
        f"location = {toml_text(location)}  # check this",
        'time_zone = "site"  # check this: in which zone do the clocks of these logs run?',
        f"format = {_inline({'kind': shape.kind} | shape.settings)}  # check this",
        *(f"# {escape(note)}" for note in shape.notes),
        "",
        "[feed.column]  # ours = what the file calls it",
    ]
    used = {one.source for one in found}
    clocks = clock_columns(shape.rows, [name for name in shape.rows.columns if name not in used])
    first_time = next((one.target for one in found if one.target in _FIRST_TIMES), None)
    plain, tables = list[str](), list[str]()
    for one in found:
        if one.target in kind(kind_name).instants or one.target.endswith("_on"):
            written = _time(one, shape.rows, clocks if one.target == first_time else [])
        else:
            written = _column(one, found, shape.rows, kind_name, marks)
        (plain if written[0] else tables).extend(written)
    missing = [target for target in NEEDED[kind_name] if target not in {g.target for g in found}]
    for target in missing:
        plain.append(f"# TODO {_todo(target, kind_name)}")
    mapped = "\n".join(plain)
    unused = [
        escape(column, 40)
        for column in shape.rows.columns
        if column not in used and toml_text(column) not in mapped
    ]
    if unused:
        tables += ["", f"# Columns of the file that nothing reads: {', '.join(unused)}"]
    text = "\n".join([*lines, *plain, *tables]) + "\n"
    serials = next((one.source for one in found if one.target == "unit_serial"), None)
    return Draft(
        text,
        _distinct(shape.rows, serials),
        sum(line.startswith("# TODO") for line in text.splitlines()),
    )


def _column(
    one: Guess, found: list[Guess], rows: pl.DataFrame, kind_name: str, marks: dict[str, str]
) -> list[str]:
    values = rows[one.source]
    if dimension_of(one.target):
        return [_quantity(one, found, rows, marks)]
    if synonyms.words(kind_name, one.target):
        return _words(one, values, kind_name)
    return [f"{one.target} = {toml_text(one.source)}  # check this: {escape(one.reason)}"]


def _time(one: Guess, rows: pl.DataFrame, clocks: list[str]) -> list[str]:
    """A time; of a column of days only, with the first column of times of day that is left."""
    source, values, fitting = toml_text(one.source), rows[one.source], candidates(rows[one.source])
    is_day = all("%H" not in form and "%I" not in form for form in fitting)
    if clocks and fitting and is_day and not values.str.contains(":").any():
        both = joined([one.source, clocks[0]], rows)
        if both is not None and (of_both := candidates(both)):
            source, values, fitting = f"[{source}, {toml_text(clocks[0])}]", both, of_both
    if fitting == ["iso"] and source.startswith("["):
        return [f"{one.target} = {{ from = {source} }}  # check this: ISO 8601, in two columns"]
    if fitting == ["iso"]:
        return [f"{one.target} = {source}  # check this: ISO 8601"]
    written = [
        f"{one.target} = {{ from = {source}, format = {toml_text(form)} }}" for form in fitting
    ]
    if len(written) == 1:
        return [f"{written[0]}  # check this: {escape(one.reason)}"]
    if not written:
        return [f'# TODO {one.target}: no value here: {{ from = {source}, format = "..." }}']
    dates = order(values)
    why = f"{dates}; these formats" if dates.count else "several formats"
    lines = [f"# TODO {one.target}: {why} fit every value. Keep one line:"]
    for form, line in zip(fitting, written, strict=True):
        note = "  # so the lines stand in order of time" if is_sorted(values, form) else ""
        lines.append(f"# {line}{note}")
    return lines


def _quantity(one: Guess, found: list[Guess], rows: pl.DataFrame, marks: dict[str, str]) -> str:
    dimension = dimension_of(one.target)
    assert dimension is not None
    values = numbers(rows[one.source], marks.get("decimal", "."), marks.get("thousands"))
    said = synonyms.unit_in(one.source, tuple(UNITS[dimension]))
    unit, gauge, notes = said, synonyms.is_gauge_said(one.source), [escape(one.reason)]
    if dimension == "temperature" and (likely := likely_units(values)) and said not in likely:
        unit = likely[0]
        notes.append(f"its largest is {values.max()!r}")
    if dimension == "pressure" and one.target.startswith(("hold", "chamber")):
        readings = [
            reading
            for reading in likely_readings(
                values, standard_atmosphere_kpa(0), _celsius(found, rows, marks)
            )
            if said in (None, reading.unit) and gauge in (None, reading.is_gauge)
        ]
        if readings:
            unit, gauge = readings[0].unit, readings[0].is_gauge
            notes.append(f"as steam it fits {' or '.join(map(str, readings[:3]))}")
    if dimension == "time" and rows[one.source].str.contains(r"^\d+:\d\d$").any():
        unit = "mm:ss"
    if unit is None:
        notes.append(f"no unit is named: is it {next(iter(UNITS[dimension]))}?")
    spec: dict[str, Any] = {"from": one.source}
    if unit is not None:
        spec["unit"] = unit
    if gauge:
        spec["gauge"] = True
    written = toml_text(one.source) if len(spec) == 1 else _inline(spec)
    return f"{one.target} = {written}  # check this: {'; '.join(notes)}"


def _celsius(found: list[Guess], rows: pl.DataFrame, marks: dict[str, str]) -> pl.Series | None:
    """The temperatures that the same rows log, by the likeliest unit."""
    for one in found:
        if one.target in ("hold_min_celsius", "hold_max_celsius", "chamber_celsius"):
            values = numbers(rows[one.source], marks.get("decimal", "."), marks.get("thousands"))
            if likely := likely_units(values):
                unit = UNITS["temperature"][likely[0]]
                return values * unit.factor + unit.offset
    return None


def _words(one: Guess, values: pl.Series, kind_name: str) -> list[str]:
    """A table of the words that the file has, the commoner first, with ours where one is likely."""
    counted = (
        values.drop_nulls()
        .alias("text")
        .value_counts(name="lines")
        .sort(["lines", "text"], descending=[True, False])
    )
    lines = ["", f"[feed.column.{one.target}]", f"from = {toml_text(one.source)}"]
    if one.target == "stop_reason":
        lines.append('otherwise = "=unknown"  # a text without a meaning is counted as not known')
    lines.append(f"[feed.column.{one.target}.values]")
    for text, count in counted.head(_MOST_WORDS).iter_rows():
        ours = synonyms.our_word(kind_name, one.target, text)
        if ours:
            lines.append(f'{toml_text(text)} = "{ours}"  # check this; {lines_told(count)}')
        else:
            lines.append(f'# TODO {toml_text(text)} = "..."  # {lines_told(count)}')
    if counted.height > _MOST_WORDS:
        lines.append(f"# and {counted.height - _MOST_WORDS:,} more texts")
    if any(line.startswith("# TODO") for line in lines):
        ours_all = ", ".join(synonyms.words(kind_name, one.target) or ())
        lines += textwrap.wrap(
            f"ours: {ours_all}", 96, initial_indent="# ", subsequent_indent="#   "
        )
    return lines


def _todo(target: str, kind_name: str) -> str:
    what = f"{target}: no column was found for it, and every {kind_name} needs one:"
    example = "..." if target in kind(kind_name).instants or target.endswith("_on") else None
    if example or kind(kind_name).columns.get(target) == "BIGINT":
        return f'{what} {target} = "the name of its column"'
    return f'{what} {target} = "the name of its column", or {{ constant = "..." }}'


def _inline(table: dict[str, Any]) -> str:
    parts = [
        f"{key} = {str(value).lower() if isinstance(value, bool | int) else toml_text(value)}"
        for key, value in table.items()
    ]
    return f"{{ {', '.join(parts)} }}"


def _distinct(rows: pl.DataFrame, source: str | None) -> list[str]:
    if source is None:
        return []
    return [str(one) for one in rows[source].drop_nulls().unique().sort().head(200)]
