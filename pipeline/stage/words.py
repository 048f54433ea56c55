"""Texts to words: the feed's own words to ours, and what becomes of all others."""

import polars as pl

from pipeline.config.network import Column
from pipeline.stage.converted import Converted, clean
from pipeline.stage.rules import WORD


def to_words(column: Column, source: pl.Series) -> Converted:
    """The words of a text column. A word mapped to "" becomes null."""
    text = clean(source)
    if not column.values:
        return Converted({column.target: text}, text)
    known = pl.Series(list(column.values))
    meant = pl.Series(list(column.values.values()))
    word = text.replace_strict(known, meant, default=None, return_dtype=pl.String)
    is_other = text.is_not_null() & word.is_null()
    word = word.set(word == "", None)
    if column.otherwise == "keep":
        word = word.zip_with(~is_other, text)
    elif column.otherwise.startswith("="):
        constant = pl.Series([column.otherwise[1:] or None], dtype=pl.String)
        word = word.zip_with(~is_other, constant.new_from_index(0, len(word)))
    is_held = column.otherwise == "hold" and bool(is_other.any())
    return Converted({column.target: word}, text, is_other if is_held else None, WORD)


def replaced(column: Column, source: pl.Series) -> pl.Series:
    """The text of a number, time or date after its special words, such as "---" for none."""
    if not column.values or source.dtype != pl.String:
        return source
    text = clean(source)
    return text.replace(list(column.values), [word or None for word in column.values.values()])
