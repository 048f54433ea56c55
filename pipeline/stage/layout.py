"""Lines that hold no record because they are blank, or because the feed says so."""

from typing import Any

import polars as pl


def is_layout(text: pl.Expr, settings: dict[str, Any]) -> pl.Expr:
    """True for blank lines, comments, and what matches `skip`, such as the totals at the end.

    A total that no feed declares is not guessed to be one: it is held.
    """
    found = text.str.strip_chars() == ""
    if comment := settings.get("comment"):
        found |= text.str.strip_chars_start().str.starts_with(comment)
    if skip := settings.get("skip"):
        found |= text.str.contains(skip)
    return found
