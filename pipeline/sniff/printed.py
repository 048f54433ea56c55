"""Texts that are printed reports: lines of a name and a value, a table of samples beneath."""

import re
from collections import Counter
from typing import Any

import polars as pl

_FIELD = re.compile(r"^\s*(?P<name>[^\s:=.][^:=]{0,38}?)\s*(?:\.{2,}|[:=])\s*(?P<value>\S.*?)\s*$")
_MARKS = {":": r"\s*:\s*", "=": r"\s*=\s*"}
Found = tuple[dict[str, Any], pl.DataFrame, list[str]]


def read_printed(text: str) -> Found | None:
    """Settings, one row a report, and notes; None when few lines are a name and a value."""
    lines = [line for line in text.splitlines()[:5000] if line.strip()]
    fields = [(i, match) for i, line in enumerate(lines) if (match := _FIELD.match(line))]
    names = Counter(match["name"] for _, match in fields)
    if len(names) < 4 or len(fields) < 0.25 * len(lines):
        return None
    first = fields[0][1]["name"]
    marks = Counter(mark for _, match in fields for mark in _MARKS if mark in match[0])
    mark = marks.most_common(1)[0][0]
    head = lines[: fields[0][0]]
    # What stands over every report as often as its first field is how a report begins.
    title = next((one.strip() for one in head if lines.count(one) == names[first]), None)
    begin = f"^\\s*{re.escape(title)}" if title else f"^\\s*{re.escape(first)}{_MARKS[mark]}"
    reports: list[dict[str, str]] = []
    for _, match in fields:
        if match["name"] == first or not reports:
            reports.append({})
        reports[-1].setdefault(match["name"], match["value"])
    frame = pl.DataFrame(
        {n: pl.Series([one.get(n) for one in reports], dtype=pl.String) for n in names}
    )
    settings = {
        "begin": begin,
        "field": rf"^\s*(?P<name>[^{mark}]+?){_MARKS[mark]}(?P<value>.*)$",
    }
    others = len(lines) - len(fields)
    notes = [f"a report seems to begin with {title or first!r}."]
    if others > len(reports):
        notes.append(
            f"{others:,} lines are no name and value: say with `row` what a line of samples is."
        )
    return settings, frame, notes
