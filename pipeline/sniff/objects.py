"""Texts that are JSON: one object a line, or one array of objects."""

import json
from typing import Any

import polars as pl

_MOST_ROWS = 2000
Found = tuple[dict[str, Any], pl.DataFrame, list[str]]


def read_objects(text: str) -> Found | None:
    """Kind and settings, rows and notes; None when the text is no JSON of these two shapes."""
    begin = text.lstrip()[:1]
    if begin == "[":
        return _of_array(text)
    if begin != "{":
        return None
    objects, others = [], 0
    for line in text.splitlines()[:_MOST_ROWS]:
        one = _parsed(line)
        if isinstance(one, dict):
            objects.append(_flat(one))
        elif line.strip():
            others += 1
    if len(objects) > others:
        notes = [f"{others:,} lines are no whole JSON object."] if others else []
        return {"kind": "jsonlines"}, _frame(objects), notes
    whole = _parsed(text)
    if isinstance(whole, dict):
        for name, value in whole.items():
            if isinstance(value, list) and value and isinstance(value[0], dict):
                rows = [_flat(one) for one in value[:_MOST_ROWS] if isinstance(one, dict)]
                return {"kind": "json", "path": name}, _frame(rows), []
    return None


def _of_array(text: str) -> Found | None:
    whole = _parsed(text)
    if not isinstance(whole, list):
        return None
    objects = [_flat(one) for one in whole[:_MOST_ROWS] if isinstance(one, dict)]
    return ({"kind": "json"}, _frame(objects), []) if objects else None


def _parsed(text: str) -> Any:
    try:
        # A text nested without end exhausts the stack of the parser.
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


def _flat(one: dict[str, Any], before: str = "") -> dict[str, str | None]:
    """The values by their keys, those of an object within as "a.b"."""
    flat: dict[str, str | None] = {}
    for name, value in one.items():
        if isinstance(value, dict) and before.count(".") < 4:
            flat |= _flat(value, f"{before}{name}.")
        elif not isinstance(value, list | dict):
            text = value if isinstance(value, str) else json.dumps(value)
            flat[f"{before}{name}"] = None if value is None else text
    return flat


def _frame(objects: list[dict[str, str | None]]) -> pl.DataFrame:
    names = list(dict.fromkeys(name for one in objects for name in one))
    return pl.DataFrame(
        {name: pl.Series([one.get(name) for one in objects], dtype=pl.String) for name in names}
    )
