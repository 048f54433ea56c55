"""What a column of text became: values, and which texts could not be read."""

from dataclasses import dataclass

import polars as pl

from pipeline.stage.rules import Rule


@dataclass(frozen=True)
class Converted:
    """The columns that one target fills, and why and where its text was not understood.

    `source` is what was read; `is_bad` is None when all of it was understood. Of an instant:
    `wall` is the clock that the log was written by, and `other_utc` what else is meant by an hour
    that happened twice or never, null for all other hours.
    """

    values: dict[str, pl.Series]
    source: pl.Series
    is_bad: pl.Series | None = None
    rule: Rule | None = None
    particulars: dict[str, str] | None = None
    wall: pl.Series | None = None
    other_utc: pl.Series | None = None

    @property
    def is_doubtful(self) -> pl.Series | None:
        """Where an hour happened twice or never."""
        return None if self.other_utc is None else self.other_utc.is_not_null()


def clean(text: pl.Series) -> pl.Series:
    """Text without blanks around it; null where nothing is left."""
    stripped = text.cast(pl.String).str.strip_chars()
    return stripped.set(stripped == "", None)


def bad_or_none(source: pl.Series, value: pl.Series) -> pl.Series | None:
    """Where there is a text and no value came of it; None when that is nowhere."""
    left = (value.is_null() & source.is_not_null()).arg_true()
    left = left.filter(clean(source.gather(left)).is_not_null())
    if not len(left):
        return None
    return pl.Series([False]).new_from_index(0, len(source)).scatter(left, values=True)
