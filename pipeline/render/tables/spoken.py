"""Stored sentences, spoken: the one place at which messages become text for pages and letters.

A column that holds messages is typed `Spoken` in its row; one that is declared elsewhere in British
English, such as a measure's title, is typed with what it is declared as. Rows with such columns are
kept by language, since site and network may speak two.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, partial
from typing import Annotated, Any, Generic, TypeVar, get_type_hints, overload

import polars as pl

from pipeline.base.language import language
from pipeline.base.message import spoken
from pipeline.base.phrases import declared

Rows = TypeVar("Rows")


@dataclass(frozen=True)
class Declared:
    """Marks a text that words.<language>.toml may say in its table `table`, by the field `key`."""

    table: str
    key: str


Spoken = Annotated[str, "spoken"]
"""A message of base/message.py where it is stored, and a sentence in the row; "" stays ""."""

MESSAGES = {
    "finding": ("why", "next_step", "source"),
    "ranking": ("reason",),
    "state": ("reason",),
    "watch": ("why",),
}
"""The columns of sql/result/ that hold messages, for what hands a whole table on."""


class ByLanguage(Generic[Rows]):
    """A property that is read once a language; a cached one would speak the first for ever."""

    def __init__(self, read: Callable[[Any], Rows]) -> None:
        self._read = read
        self.__doc__ = read.__doc__

    @overload
    def __get__(self, reader: None, owner: type) -> "ByLanguage[Rows]": ...
    @overload
    def __get__(self, reader: object, owner: type) -> Rows: ...
    def __get__(self, reader: Any, owner: type) -> Any:
        if reader is None:
            return self
        key = f"{self._read.__name__} in {language()}"
        if key not in reader.__dict__:
            reader.__dict__[key] = self._read(reader)
        return reader.__dict__[key]


def by_language(read: Callable[[Any], Rows]) -> ByLanguage[Rows]:
    """Make a reading method a property that is read once a language."""
    return ByLanguage(read)


def spoken_values(row: Callable[..., Any], values: Iterable[Any]) -> list[Any]:
    """The values of a row in the order of its fields, with what is stored as a message as text."""
    said = list(values)
    for place, mark in _marks(row):
        if text := said[place]:
            said[place] = spoken(text) if isinstance(mark, str) else declared(mark(said), text)
    return said


def spoken_columns(rows: pl.DataFrame, columns: Iterable[str]) -> pl.DataFrame:
    """A table with the messages of these columns as text; null stays null."""
    return changed_columns(rows, dict.fromkeys(columns, spoken))


def changed_columns(
    rows: pl.DataFrame, changes: Mapping[str, Callable[[str], str]]
) -> pl.DataFrame:
    """A table with each text of these columns changed, as far as the table has them.

    In this thread: polars would call from one of its own, in which no language is in force.
    """
    return rows.with_columns(
        pl.Series(name, [text and change(text) for text in rows[name]], dtype=pl.String)
        for name, change in changes.items()
        if name in rows.columns
    )


@cache
def _marks(row: Callable[..., Any]) -> tuple[tuple[int, Any], ...]:
    """Place of each marked field, with its mark, or how its name in words.toml is made of a row."""
    hints = get_type_hints(row, include_extras=True)
    names = list(hints)
    marks: list[tuple[int, Any]] = []
    for place, (name, hint) in enumerate(hints.items()):
        for mark in _metadata(hint):
            if isinstance(mark, Declared):
                marks.append((place, partial(_name, mark.table, names.index(mark.key), name)))
            else:
                marks.append((place, mark))
    return tuple(marks)


def _name(table: str, key_place: int, field: str, values: list[Any]) -> str:
    return f"{table}.{values[key_place]}.{field}"


def _metadata(hint: Any) -> tuple[Any, ...]:
    # `Spoken | None` holds its mark one level down.
    inner = (hint, *getattr(hint, "__args__", ()))
    return tuple(mark for one in inner for mark in getattr(one, "__metadata__", ()))
