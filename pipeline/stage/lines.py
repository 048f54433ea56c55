"""Text files as one frame of physical lines, for the shapes whose records are lines."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.base.errors import FileError
from pipeline.config.network import Feed
from pipeline.stage.parts import FILE, LINE, held_lines
from pipeline.stage.rules import BYTES
from pipeline.stage.text import Text, read_text

TEXT = "\x00text"


@dataclass(frozen=True)
class Lines:
    """The readable lines of a batch, those held for their bytes, and the files set aside whole."""

    frame: pl.DataFrame
    held: pl.DataFrame
    line_counts: dict[int, int]
    reasons: dict[int, str]


def read_lines(files: Sequence[bytes], feed: Feed) -> Lines:
    """All lines of all files in their order, as FILE, LINE (from 1) and TEXT."""
    encoding = feed.format.settings.get("encoding", "utf-8")
    texts: dict[int, Text] = {}
    reasons: dict[int, str] = {}
    for position, data in enumerate(files):
        try:
            texts[position] = read_text(data, encoding)
        except FileError as error:
            reasons[position] = str(error)
    counts = {position: text.line_count for position, text in texts.items()}
    bad = [(position, line) for position, text in texts.items() for line in text.bad.tolist()]
    told = [(position, line + 1, texts[position].line(line)) for position, line in bad]
    whole = [_decoded(text) for text in texts.values()]
    frame = pl.DataFrame(
        {
            FILE: pl.Series(np.repeat(list(counts), list(counts.values())), dtype=pl.UInt32),
            LINE: pl.Series(
                np.concatenate([np.arange(1, n + 1) for n in [*counts.values(), 0]]), dtype=pl.Int64
            ),
            TEXT: pl.Series(["\n".join(whole)] if whole else [], dtype=pl.String)
            .str.split("\n")
            .explode(),
        }
    )
    held = held_lines(feed.kind, BYTES, told, encoding=encoding)
    return Lines(frame.join(held, on=[FILE, LINE], how="anti"), held, counts, reasons)


def _decoded(text: Text) -> str:
    return text.data.decode("utf-8", "replace").removesuffix("\n")
