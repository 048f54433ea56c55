"""How a shape of log spells a table: one list of fields serves the writer and the declaration."""

import json
from dataclasses import dataclass, field

import polars as pl


@dataclass(frozen=True)
class Field:
    """One column: what it is to us, what the log calls it, and what it writes.

    `words` maps our words to the log's. `declared` is what else network.toml must say of it.
    """

    target: str
    header: str
    value: pl.Expr
    words: dict[str, str] = field(default_factory=dict)
    declared: str = ""

    def written(self) -> pl.Expr:
        """The column as the log has it."""
        value = self.value.replace_strict(self.words, default=None) if self.words else self.value
        return value.alias(self.header)

    def toml(self) -> str:
        """The line of [feed.column]."""
        source = json.dumps(self.header, ensure_ascii=False)
        values = ", ".join(
            f"{json.dumps(theirs, ensure_ascii=False)} = {json.dumps(ours)}"
            for ours, theirs in self.words.items()
        )
        settings = [f"from = {source}", f"values = {{ {values} }}" if values else "", self.declared]
        if not any(settings[1:]):
            return f"{self.target} = {source}"
        return f"{self.target} = {{ {', '.join(filter(None, settings))} }}"


Layout = tuple[Field, ...]


def table(layout: Layout, rows: pl.DataFrame) -> pl.DataFrame:
    """The rows as the log spells them."""
    return rows.select(one.written() for one in layout)


def number(column: str, digits: int, *, factor: float = 1.0, offset: float = 0.0) -> pl.Expr:
    """A quantity in other units, rounded as an instrument prints it."""
    return (pl.col(column) * factor + offset).round(digits)


def local(column: str, time_zone: str, pattern: str) -> pl.Expr:
    """An instant as the clock on the wall shows it."""
    instant = pl.col(column).dt.replace_time_zone("UTC").dt.convert_time_zone(time_zone)
    return instant.dt.to_string(pattern)


def utc(column: str) -> pl.Expr:
    """An instant in UTC, as ISO 8601 has it."""
    return pl.col(column).dt.to_string("%Y-%m-%dT%H:%M:%SZ")


def plain(*columns: str) -> Layout:
    """Columns that the log calls and writes as we do."""
    return tuple(Field(column, column, pl.col(column)) for column in columns)
