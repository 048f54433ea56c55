"""Hours that happened twice or never: settled where the file leaves one meaning, else held.

What a file can show: the length of a cycle beside its start and end; that nothing ends before it
begins; that cycles of one unit follow each other as their numbers do; that the samples of a cycle
follow each other by minutes. All of it is local to one file, so that no order of arrival matters.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import product
from typing import Any

import polars as pl

from pipeline.stage.chain import consistent
from pipeline.stage.parts import FILE, HELD, LINE, held_rows
from pipeline.stage.rules import DOUBTFUL
from pipeline.stage.times import Zones, to_local

_OTHER, _AT, _DAY, _OPEN = "\x00other ", "\x00at", "\x00day", "\x00open"
_NEAR = timedelta(hours=26)
_ROUNDING = timedelta(seconds=60)
_LENGTH_SLACK = timedelta(minutes=10)
_MOST_BETWEEN_SAMPLES = timedelta(minutes=30)
_IN_ORDER = {
    "cycle": ("started", "ended"),
    "test": ("exposed", "incubation_started", "read"),
    "reading": ("instant",),
}
"""The instants of a row in the order in which they happen. The start in a reading is its cycle's:
it stays marked, for a sample is placed by its number and the time since the start."""

_ORDER = {
    "cycle": ("cycle_number", ("unit_serial",)),
    "reading": (LINE, ("unit_serial", "cycle_number")),
}
"""By what rows of one thing in a file follow each other, and what that thing is."""

Instants = tuple[datetime | None, ...]


@dataclass(frozen=True)
class _Item:
    """A row, or copies of one, with all that its instants may be."""

    positions: tuple[int, ...]
    choices: list[Instants]
    is_unsure: bool = False


def with_others(rows: pl.DataFrame, others: dict[str, pl.Series]) -> pl.DataFrame:
    """Rows with the other instants of doubtful times beside them, for `settled`."""
    return rows.with_columns(series.alias(_OTHER + name) for name, series in others.items())


def settled(
    rows: pl.DataFrame, table: str, doubted: Sequence[str], zones: Zones
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Rows with is_time_doubtful and one meaning each, and those held for having two."""
    others = [pl.col(_OTHER + name).is_not_null() for name in doubted]
    is_doubtful = pl.any_horizontal(pl.lit(value=False), *others)
    rows = rows.with_columns(is_doubtful.alias("is_time_doubtful"))
    names = [name for name in _IN_ORDER[table] if f"{name}_utc" in rows.columns]
    judged = [name for name in names if name in doubted]
    held = pl.DataFrame(schema=HELD)
    if judged and rows["is_time_doubtful"].any():
        rows, held = _judged(rows, table, names, judged, zones)
    return rows.drop(_OTHER + name for name in doubted), held


def _judged(
    rows: pl.DataFrame, table: str, names: list[str], judged: list[str], zones: Zones
) -> tuple[pl.DataFrame, pl.DataFrame]:
    is_open = rows.select(
        pl.any_horizontal(*(pl.col(_OTHER + name).is_not_null() for name in judged))
    ).to_series()
    meant = _meanings(rows, table, names, is_open)
    left = [i for i in is_open.arg_true() if i not in meant]
    at = pl.Series(sorted(meant), dtype=pl.UInt32)
    for place, name in enumerate(names):
        column = f"{name}_utc"
        values = pl.Series([meant[i][place] for i in sorted(meant)], dtype=pl.Datetime("us"))
        rows = rows.with_columns(rows[column].scatter(at, values).alias(column))
        if zones.feed != zones.site:
            local = rows[f"{name}_local"].scatter(at, to_local(values, zones.site))
            rows = rows.with_columns(local.alias(f"{name}_local"))
    of_left = rows[left]
    held = [pl.DataFrame(schema=HELD)]
    for name in judged:
        faulty = of_left.filter(pl.col(_OTHER + name).is_not_null())
        held.append(
            held_rows(table, DOUBTFUL, faulty.rename({f"{name}_text": "found"}), column=name)
        )
    is_left = pl.Series([False]).new_from_index(0, rows.height).scatter(left, values=True)
    return rows.filter(~is_left), pl.concat(held)


def _meanings(
    rows: pl.DataFrame, table: str, names: list[str], is_open: pl.Series
) -> dict[int, Instants]:
    """For the position of each doubtful row that has one meaning: that meaning."""
    meant: dict[int, Instants] = {}
    follows = _follows_by_minutes if table == "reading" else _follows
    for chain in _chains(rows, table, names, is_open):
        left = consistent([item.choices for item in chain], follows)
        for item, choices in zip(chain, left, strict=True):
            if choices is not None and len(choices) == 1 and not item.is_unsure:
                meant.update((i, choices[0]) for i in item.positions if is_open[i])
    return meant


def _follows(before: Instants, after: Instants) -> bool:
    """True when the next cycle begins after this one ended, which logs round to a minute."""
    last = before[-1] or before[0]
    return last is None or after[0] is None or last <= after[0] + _ROUNDING


def _follows_by_minutes(before: Instants, after: Instants) -> bool:
    first, second = before[0], after[0]
    return (
        first is None or second is None or timedelta(0) <= second - first <= _MOST_BETWEEN_SAMPLES
    )


def _chains(
    rows: pl.DataFrame, table: str, names: list[str], is_open: pl.Series
) -> Iterator[list[_Item]]:
    """Doubtful rows, each day's with the rows of the same unit around them, in their order."""
    numbered = rows.with_row_index(_AT).with_columns(is_open.alias(_OPEN))
    first = f"{names[0]}_utc"
    order, keys = _ORDER.get(table, (LINE, ()))
    if not keys or order not in rows.columns or not set(keys) <= set(rows.columns):
        yield from ([_item((row[_AT],), row, names)] for row in _dicts(numbered.filter(_OPEN)))
        return
    in_order = numbered.filter(pl.col(order).is_not_null())
    loose = numbered.filter(pl.col(_OPEN) & pl.col(order).is_null())
    yield from ([_item((row[_AT],), row, names)] for row in _dicts(loose))
    days = (
        in_order.filter(_OPEN)
        .select(FILE, *keys, pl.col(first).dt.truncate("1d").alias(_DAY))
        .unique(maintain_order=True)
    )
    near = days.join(in_order, on=[FILE, *keys], nulls_equal=True, maintain_order="left").filter(
        pl.col(first).is_between(pl.col(_DAY) - _NEAR, pl.col(_DAY) + timedelta(days=1) + _NEAR)
    )
    for _, some in near.group_by([FILE, *keys, _DAY], maintain_order=True):
        yield _items(some.sort(order, LINE), order, names)


def _dicts(rows: pl.DataFrame) -> Iterator[dict[str, Any]]:
    return rows.iter_rows(named=True)


def _items(rows: pl.DataFrame, order: str, names: list[str]) -> list[_Item]:
    """Copies of one row are one thing in the chain."""
    copies: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    for row in _dicts(rows):
        key = (row[order], *(row[f"{name}_utc"] for name in names))
        copies.setdefault(key, []).append(row)
    return [_item(tuple(row[_AT] for row in some), some[0], names) for some in copies.values()]


def _item(positions: tuple[int, ...], row: dict[str, Any], names: list[str]) -> _Item:
    """All that the instants of a row may be, without what the row itself rules out."""
    each = [
        [row[f"{name}_utc"], *([other] if (other := row.get(_OTHER + name)) else ())]
        for name in names
    ]
    found = list(product(*each))
    possible = [one for one in found if _is_possible(one, row)] if len(found) > 1 else found
    is_unsure = not possible or (_is_never(row, names) and row.get("logged_seconds") is None)
    return _Item(positions, possible or found, is_unsure)


def _is_never(row: dict[str, Any], names: list[str]) -> bool:
    """True where a clock showed an hour that never was: it is off, and order alone says nothing.

    The other meaning is then the earlier one, of a clock that was put forward too soon.
    """
    others = [(row[f"{name}_utc"], row.get(_OTHER + name)) for name in names]
    return any(other is not None and other < utc for utc, other in others)


def _is_possible(instants: Instants, row: dict[str, Any]) -> bool:
    known = [one for one in instants if one is not None]
    if any(second < first for first, second in zip(known, known[1:], strict=False)):
        return False
    if len(known) < 2:
        return True
    length = (known[-1] - known[0]).total_seconds()
    if logged := row.get("logged_seconds"):
        return abs(length - logged) <= _LENGTH_SLACK.total_seconds()
    parts = [row.get(f"{name}_seconds") or 0.0 for name in ("heat_up", "hold", "drying")]
    return length + _ROUNDING.total_seconds() >= sum(parts)
