"""A day and its time of day in two columns: joined as the mapping does, and recognised."""

from collections.abc import Sequence

import polars as pl

_CLOCK = r"^[0-9]{1,2}[:.h][0-9]{2}([:.][0-9]{2})?( ?[AaPp]\.?[Mm]\.?)?$"


def joined(names: Sequence[str], rows: pl.DataFrame) -> pl.Series | None:
    """The texts of these columns with a blank between; None when the file has none of them."""
    present = [name for name in names if name in rows.columns]
    if not present:
        return None
    texts = [rows[name].cast(pl.String).alias(str(i)) for i, name in enumerate(present)]
    if len(texts) == 1:
        return texts[0]
    whole = pl.concat_str(pl.all(), separator=" ", ignore_nulls=True)
    text = pl.DataFrame(texts).select(whole).to_series()
    return text.set(text == "", None)


def clock_columns(rows: pl.DataFrame, names: Sequence[str]) -> list[str]:
    """Those of these columns that hold nothing but times of day."""
    return [name for name in names if _is_clock(rows[name].drop_nulls())]


def _is_clock(values: pl.Series) -> bool:
    return len(values) > 0 and bool(values.str.contains(_CLOCK).all())
