"""Text of fixed width: columns by their positions, or a pattern for the whole line.

Positions count characters from 1, both ends included. Patterns run in Rust, in time that grows
with the text alone.
"""

from collections.abc import Iterator, Sequence

import polars as pl

from pipeline.config.network import Feed
from pipeline.stage.layout import is_layout
from pipeline.stage.lines import TEXT, Lines, read_lines
from pipeline.stage.parts import FILE, HELD, LINE, Account, Part, held_rows, sources
from pipeline.stage.rules import CUT_SHORT, NO_MATCH

_IS_LAYOUT = "\x00is_layout"


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """One part for all files."""
    lines = read_lines(files, feed)
    settings = feed.format.settings
    told = lines.frame.with_columns(_is_header(settings.get("header_line", 0)).alias(_IS_LAYOUT))
    told = told.with_columns(pl.col(_IS_LAYOUT) | is_layout(pl.col(TEXT), settings))
    records = told.filter(~pl.col(_IS_LAYOUT)).select(FILE, LINE, TEXT)
    rows, held = (
        _by_positions(records, feed) if "columns" in settings else _by_pattern(records, feed)
    )
    yield Part(_accounts(lines, told), {feed.kind: rows}, pl.concat([lines.held, held]))


def _is_header(header_line: int) -> pl.Expr:
    """The lines down to the header, and the header where it comes again."""
    header = pl.col(TEXT).filter(pl.col(LINE) == header_line).first().over(FILE)
    is_again = (pl.col(TEXT) == header).fill_null(value=False)
    return (pl.col(LINE) <= header_line) | is_again


def _by_positions(records: pl.DataFrame, feed: Feed) -> tuple[pl.DataFrame, pl.DataFrame]:
    places: dict[str, list[int]] = feed.format.settings["columns"]
    wanted = sources(feed.columns)
    length = records[TEXT].str.len_chars()
    is_short = pl.Series([False]).new_from_index(0, records.height)
    held = [pl.DataFrame(schema=HELD)]
    for name in sorted(wanted, key=lambda one: places[one]):
        if not wanted[name]:
            ends_before = (length < places[name][0]) & ~is_short
            short = records.filter(ends_before).rename({TEXT: "found"})
            held.append(held_rows(feed.kind, CUT_SHORT, short, name=name))
            is_short |= ends_before
    cut = [
        pl.col(TEXT)
        .str.slice(places[name][0] - 1, places[name][1] - places[name][0] + 1)
        .alias(name)
        for name in wanted
    ]
    return records.filter(~is_short).select(FILE, LINE, *cut), pl.concat(held)


def _by_pattern(records: pl.DataFrame, feed: Feed) -> tuple[pl.DataFrame, pl.DataFrame]:
    pattern = feed.format.settings["pattern"]
    matches = pl.col(TEXT).str.contains(pattern)
    other = records.filter(~matches).rename({TEXT: "found"})
    held = held_rows(feed.kind, NO_MATCH, other)
    good = records.filter(matches)
    groups = good[TEXT].str.extract_groups(pattern).struct.unnest()
    rows = pl.concat(
        [good.select(FILE, LINE), groups.select(list(sources(feed.columns)))], how="horizontal"
    )
    return rows, held


def _accounts(lines: Lines, told: pl.DataFrame) -> dict[int, Account]:
    layouts = dict(told.filter(_IS_LAYOUT)[FILE].value_counts().iter_rows())
    accounts = {file: Account(reason=reason) for file, reason in lines.reasons.items()}
    for file, count in lines.line_counts.items():
        layout = layouts.get(file, 0)
        accounts[file] = Account(count, layout, count - layout)
    return accounts
