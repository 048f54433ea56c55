"""Lines that hold no record because they are blank, or because the feed says so."""

from typing import Any

import numpy as np
import polars as pl

from pipeline.stage.marks import Marks
from pipeline.stage.text import Text


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


def without_layout(text: Text, header_line: int, marks: Marks, settings: dict[str, Any]) -> Text:
    """The text with nothing left on lines after the header that the feed declares as layout."""
    if "skip" not in settings and "comment" not in settings:
        return text
    lines = pl.DataFrame({"line": [marks.restored(text.line(i)) for i in range(text.line_count)]})
    is_gone = lines.select(is_layout(pl.col("line"), settings)).to_series().to_numpy().copy()
    is_gone[:header_line] = False
    is_gone[text.bad] = False
    if not is_gone.any():
        return text
    kept = [
        b"" if gone else text.data[start:end]
        for gone, start, end in zip(is_gone, text.starts, text.ends, strict=True)
    ]
    lengths = np.where(is_gone, 0, text.ends - text.starts)
    starts = np.cumsum(lengths + 1) - lengths - 1
    return Text(b"\n".join([*kept, b""]), starts, starts + lengths, text.bad)
