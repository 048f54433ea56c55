"""What the steps of a run said of one file, put together as a trial."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Self

import duckdb
import polars as pl

from pipeline.base.quantity import UNITS, dimension_of
from pipeline.config.kinds import kind
from pipeline.config.network import Column, Feed
from pipeline.config.rules import rules
from pipeline.sniff.joined import joined
from pipeline.sniff.trial import HINT_LINES, ColumnTrial, HeldGroup, Record, RuleTrial, Trial

_MOST_LAYOUT = 8


@dataclass(frozen=True)
class Outcome:
    """What the warehouse holds after the one file: counts, lines held, rules broken."""

    counts: tuple[int, int, int, int, int]
    set_aside: str | None
    held: list[tuple[int, str, str | None, str | None, str]]
    runs: list[tuple[str, str, int | None]]

    @classmethod
    def read(cls, con: duckdb.DuckDBPyConnection) -> Self:
        """Read it from the warehouse that has seen this file and no other."""
        row = con.execute(
            """
            SELECT line_count, layout_count, used_count, held_count, duplicate_count, reason,
            FROM stage.file
            LEFT JOIN model.balance USING (file_id)
            """
        ).fetchone()
        assert row is not None
        held = con.execute(
            """
            SELECT line, rule_id, column_name, found, message,
            FROM stage.held
            ORDER BY line, rule_id, column_name
            """
        ).fetchall()
        runs = con.execute(
            "SELECT rule_id, verdict, failed_count FROM stage.check_run WHERE row_count > 0 "
            "ORDER BY rule_id"
        ).fetchall()
        counts = tuple(int(one or 0) for one in row[:5])
        return cls(counts, row[5], held, runs)  # type: ignore[arg-type]

    def held_lines(self, lines: list[str]) -> list[tuple[int, str]]:
        """Each line that was held, once, with its text as far as it is known."""
        texts: dict[int, str] = {}
        for line, _, _, found, _ in self.held:
            stands = lines[line - 1] if 0 < line <= len(lines) else found or ""
            texts.setdefault(line, stands)
        return list(texts.items())


def trial_of(
    outcome: Outcome,
    feed: Feed,
    site_id: str,
    path: str,
    raw: pl.DataFrame,
    values: pl.DataFrame,
    lines: list[str],
    hints: list[str],
    pastes: list[str],
    row_count: int,
    sample_count: int = 0,
) -> Trial:
    """The trial; `raw` and `values` are the records as text and as read, by `line`."""
    line_count, layout_count, used, held, duplicates = outcome.counts
    if outcome.set_aside is not None:
        return Trial(
            path,
            feed.name,
            feed.kind,
            feed.format.kind,
            site_id,
            set_aside=outcome.set_aside,
            hints=hints,
        )
    return Trial(
        path,
        feed.name,
        feed.kind,
        feed.format.kind,
        site_id,
        line_count,
        layout_count,
        used,
        held,
        duplicates,
        sample_count,
        None,
        _records(outcome, feed, raw, values, lines, row_count),
        [_column(column, feed, raw, values, outcome) for column in feed.columns],
        _held(outcome, lines),
        _rules(outcome),
        len(outcome.runs),
        _layout(outcome, raw, lines),
        hints,
        pastes,
    )


def _records(
    outcome: Outcome,
    feed: Feed,
    raw: pl.DataFrame,
    values: pl.DataFrame,
    lines: list[str],
    row_count: int,
) -> list[Record]:
    by_line = {row["line"]: row for row in values.iter_rows(named=True)}
    records = []
    for row in raw.head(row_count).iter_rows(named=True):
        read = by_line.get(row["line"])
        cells = []
        bad = {name for at, _, name, _, _ in outcome.held if at == row["line"] and name}
        for column in feed.columns:
            if read is None and column.target not in bad:
                continue
            texts = [str(row[one]) for one in column.sources if row.get(one) is not None]
            text = " ".join(texts) if column.sources else column.constant
            value = None if read is None else _shown(read.get(_read_name(column, feed)))
            cells.append((column.target, "" if text is None else str(text), value))
        line = row["line"]
        stands = lines[line - 1] if 0 < line <= len(lines) else ""
        whole = [
            str(value)
            for name, value in row.items()
            if value and name[0] != "\x00" and name != "line"
        ]
        records.append(Record(line, stands or " | ".join(whole), cells))
    return records


def _read_name(column: Column, feed: Feed) -> str:
    is_instant = column.target in kind(feed.kind).instants
    return f"{column.target}_local" if is_instant else column.target


def _column(
    column: Column, feed: Feed, raw: pl.DataFrame, values: pl.DataFrame, outcome: Outcome
) -> ColumnTrial:
    bad = {
        line
        for line, rule, name, _, _ in outcome.held
        if name == column.target and rule.startswith("STG")
    }
    text = joined(column.sources, raw)
    count = raw.height * (column.source is None) if text is None else text.count()
    read = values.get_column(_read_name(column, feed), default=None)
    unit = ""
    if (dimension := dimension_of(column.target)) is not None:
        ours = next(iter(UNITS[dimension]))
        theirs = (column.unit or ours) + (" gauge" if column.is_gauge else "")
        unit = theirs if theirs == ours else f"{theirs} → {ours}"
    elif column.formats:
        unit = " or ".join(column.formats)
    elif column.target in kind(feed.kind).instants:
        unit = "ISO 8601"
    source = " + ".join(column.sources) or f'always "{column.constant}"'
    if column.source is not None and text is None:
        source += " (not there)"
    told = "" if read is None else _told(read)
    return ColumnTrial(column.target, source, unit, count, count - len(bad), told)


def _told(read: pl.Series) -> str:
    known = read.drop_nulls()
    if not len(known):
        return "nothing"
    if read.dtype == pl.String:
        counted = known.alias("word").value_counts(name="n")
        counted = counted.sort(["n", "word"], descending=[True, False])
        words = [f"{word} ({count})" for word, count in counted.head(3).iter_rows()]
        more = counted.height - 3
        return ", ".join(words) + (f", {more:,} more" if more > 0 else "")
    middle = known.sort()[len(known) // 2]
    return ", ".join(_shown(one) or "" for one in (known.min(), middle, known.max()))


def _shown(value: Any) -> str:
    if value is None:
        return "-"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, datetime):
        return value.isoformat(" ", "seconds" if value.second else "minutes")
    return str(value)


def _held(outcome: Outcome, lines: list[str]) -> list[HeldGroup]:
    groups = defaultdict(list)
    for line, rule, column, found, message in outcome.held:
        stands = lines[line - 1] if 0 < line <= len(lines) else ""
        text = (found if column else stands or found) or stands
        groups[rule, column, message].append((line, text))
    ordered = sorted(groups.items(), key=lambda one: (-len(one[1]), one[0][0], one[1]))
    return [HeldGroup(*key, len(some), some[:HINT_LINES]) for key, some in ordered]


def _rules(outcome: Outcome) -> list[RuleTrial]:
    known = {rule.rule_id: rule for rule in rules()}
    return [
        RuleTrial(rule_id, known[rule_id].title, verdict, failed or 0, known[rule_id].fix)
        for rule_id, verdict, failed in outcome.runs
        if failed != 0
    ]


def _layout(outcome: Outcome, raw: pl.DataFrame, lines: list[str]) -> list[tuple[int, str]]:
    """The first lines that are neither records nor held, where the file has lines."""
    others = set(raw["line"].to_list()) | {line for line, *_ in outcome.held}
    found = [(i, text) for i, text in enumerate(lines, 1) if i not in others and text.strip()]
    return found[:_MOST_LAYOUT]
