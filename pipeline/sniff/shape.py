"""What shape a file has: a workbook, objects, a table with separators or a printed report.

Tells by the first bytes, then by what most lines agree on. The result is a draft of a format and
some rows of text to judge by; the reader of pipeline/stage/ is what counts.
"""

import io
from dataclasses import dataclass, field
from typing import Any

import polars as pl

from pipeline.base.errors import FileError
from pipeline.sniff.encoding import encoding_of
from pipeline.sniff.objects import read_objects
from pipeline.sniff.plain import escape
from pipeline.sniff.printed import read_printed
from pipeline.sniff.table import read_table
from pipeline.sniff.workbook import is_workbook, read_workbook


@dataclass(frozen=True)
class Shape:
    """A draft of a format: its kind and settings, its columns as text, and what to look at."""

    kind: str
    settings: dict[str, Any]
    rows: pl.DataFrame
    notes: list[str] = field(default_factory=list)


def shape_of(data: bytes) -> Shape | None:
    """The likeliest shape of unpacked bytes; None when none is likely enough to be drafted."""
    if data.startswith(b"PAR1"):
        return Shape("parquet", {}, _read_parquet(data))
    if is_workbook(data):
        settings, frame, notes = read_workbook(data)
        return Shape("spreadsheet", settings, frame, notes)
    encoding = encoding_of(data)
    text = data.decode(encoding.name, "replace").removeprefix("\ufeff")
    notes = [encoding.note] if encoding.note else []
    written: dict[str, Any] = {} if encoding.name == "utf-8" else {"encoding": encoding.name}
    for kind, read in (
        ("", read_objects),
        ("delimited", read_table),
        ("printout", read_printed),
    ):
        if (found := read(text)) is not None:
            settings, frame, more = found
            kind = settings.pop("kind", kind)
            return Shape(kind, written | settings, frame, notes + more)
    return None


def _read_parquet(data: bytes) -> pl.DataFrame:
    try:
        frame = pl.read_parquet(io.BytesIO(data), n_rows=2000)
        plain = [name for name, kind in frame.schema.items() if not kind.is_nested()]
        return frame.select(pl.col(plain).cast(pl.String, strict=False))
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException, OSError) as error:
        told = escape(" ".join(str(error).split()), 120)
        raise FileError(f"The file is no readable Parquet file: {told}. Send it again.") from None
