"""What may be said about the shape of a file, and the faults of saying it wrongly."""

import codecs
import re
from collections.abc import Callable
from typing import Any

from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.network import Format

_Check = Callable[[Any], str | None]

SPACES = "spaces"
"""A separator of two blanks or more, as in tables that are aligned for the eye."""


def _one_character(value: Any) -> str | None:
    return None if isinstance(value, str) and len(value) == 1 else "write one character"


def _separator(value: Any) -> str | None:
    if value == SPACES or _one_character(value) is None:
        return None
    return f'write one character, such as "\\t" for a tab, or "{SPACES}" for two blanks or more'


def _line_number(value: Any) -> str | None:
    return None if type(value) is int and value >= 1 else "write a line number, 1 or more"


def _text(value: Any) -> str | None:
    return None if isinstance(value, str) and value else "write a text"


def _encoding(value: Any) -> str | None:
    try:
        codecs.lookup(value)
    except (LookupError, TypeError):
        return "not a known encoding; write utf-8, utf-16, cp1252 or another"
    return None


def _texts(value: Any) -> str | None:
    if isinstance(value, list) and value and all(_text(one) is None for one in value):
        return None
    return 'write a list of texts, such as ["Jan", "Feb"]'


def _fill(value: Any) -> str | None:
    return None if value == "fill" else 'write "fill", or leave it out'


def _positions(value: Any) -> str | None:
    """From and to, both counted from 1 and both within the column; columns may touch."""
    told = "write a table such as { No = [1, 6], Start = [8, 23] }"
    if not isinstance(value, dict) or not value:
        return told
    for pair in value.values():
        if not isinstance(pair, list) or [type(one) for one in pair] != [int, int]:
            return told
        if not 1 <= pair[0] <= pair[1] <= 10_000:
            return f"{pair} is no column; {told}"
    return None


def _not_linear(pattern: str) -> str | None:
    """Patterns run in polars, in time that grows with the text alone; some are not to be had."""
    import polars as pl

    try:
        pl.Series([""]).str.contains(pattern)
    except pl.exceptions.ComputeError:
        return "the pattern looks ahead, looks behind or refers back; write one that does not"
    return None


def _pattern(*groups: str) -> _Check:
    def check(value: Any) -> str | None:
        try:
            named = re.compile(value).groupindex
        except (re.error, TypeError) as error:
            return f"not a pattern ({error})"
        if fault := _not_linear(value):
            return fault
        absent = [f"(?P<{group}>...)" for group in groups if group not in named]
        return f"the pattern needs {' and '.join(absent)}" if absent else None

    return check


_NUMBER_MARKS: dict[str, _Check] = {"decimal": _one_character, "thousands": _one_character}
_EVERY: dict[str, _Check] = {"members": _text, **_NUMBER_MARKS}
_LAYOUT: dict[str, _Check] = {"skip": _pattern(), "comment": _text}
SETTINGS: dict[str, dict[str, _Check]] = {
    "delimited": {
        "separator": _separator,
        "quote": _one_character,
        "encoding": _encoding,
        "header_line": _line_number,
        **_LAYOUT,
        **_EVERY,
    },
    "fixed": {
        "encoding": _encoding,
        "header_line": _line_number,
        "columns": _positions,
        "pattern": _pattern(),
        **_LAYOUT,
        **_EVERY,
    },
    "spreadsheet": {
        "sheet": _text,
        "sheets": _texts,
        "merged": _fill,
        "header_line": _line_number,
        "skip": _pattern(),
        **_EVERY,
    },
    "json": {"encoding": _encoding, "path": _text, **_EVERY},
    "jsonlines": {"encoding": _encoding, **_EVERY},
    "parquet": {**_EVERY},
    "printout": {
        "encoding": _encoding,
        "begin": _pattern(),
        "end": _pattern(),
        "field": _pattern("name", "value"),
        "row": _pattern(),
        **_EVERY,
    },
}
"""Each kind of format with its settings and what a setting must be."""

_REQUIRED = {"printout": (("field",),), "fixed": (("columns", "pattern"),)}
_EXCLUSIVE = {"spreadsheet": ("sheet", "sheets"), "fixed": ("columns", "pattern")}
_OTHER_NAMES = {
    "csv": "delimited",
    "tsv": "delimited",
    "text": "delimited",
    "xlsx": "spreadsheet",
    "xls": "spreadsheet",
    "ods": "spreadsheet",
    "excel": "spreadsheet",
    "ndjson": "jsonlines",
    "jsonl": "jsonlines",
    "fixed-width": "fixed",
    "fwf": "fixed",
    "report": "printout",
}
"""What people call these kinds, so that the message can say what to write instead."""


def shared_formats(declared: Any, faults: Faults) -> dict[str, dict[str, Any]]:
    """The tables [format.NAME], which any feed may use; faults are noted once, here."""
    if not isinstance(declared, dict):
        faults.add("network.toml", "format is no table; write [format.NAME] and a line a setting.")
        return {}
    for name, one in declared.items():
        read_format(f'network.toml: format "{name}"', one, faults)
    return {name: one for name, one in declared.items() if isinstance(one, dict)}


def used_format(
    where: str, declared: Any, shared: dict[str, dict[str, Any]], faults: Faults
) -> Format:
    """The format of a feed: its own, a shared one by its name, or one with changes of its own."""
    own = {"use": declared} if isinstance(declared, str) else declared
    if not isinstance(own, dict) or "use" not in own:
        return read_format(where, own, faults)
    if own["use"] not in shared:
        hint = did_you_mean(str(own["use"]), shared)
        faults.add(
            where, f'uses the format "{own["use"]}"; there is no [format.{own["use"]}]. {hint}'
        )
        return Format("delimited")
    changed = {name: value for name, value in own.items() if name != "use"}
    # What is wrong with the shared one has been said.
    return read_format(where, shared[own["use"]] | changed, faults if changed else Faults())


def read_format(where: str, declared: Any, faults: Faults) -> Format:
    """The format as declared; faults are noted."""
    if not isinstance(declared, dict) or "kind" not in declared:
        faults.add(where, 'has no format; write format = { kind = "delimited", separator = "," }.')
        return Format("delimited")
    settings = {name: value for name, value in declared.items() if name != "kind"}
    kind = declared["kind"]
    if kind not in SETTINGS:
        near = _OTHER_NAMES.get(str(kind).lower())
        hint = f'Write "{near}".' if near else did_you_mean(str(kind), SETTINGS)
        faults.add(where, f'has format kind "{kind}". {hint}')
        return Format("delimited")
    for name, value in settings.items():
        check = SETTINGS[kind].get(name)
        if check is None:
            hint = did_you_mean(name, SETTINGS[kind])
            faults.add(where, f'format {kind} has no setting "{name}". {hint}')
        elif fault := check(value):
            faults.add(where, f"format setting {name} is {value!r}: {fault}.")
    for names in _REQUIRED.get(kind, ()):
        if not any(name in settings for name in names):
            faults.add(where, f"format {kind} needs the setting {' or '.join(names)}.")
    if all(name in settings for name in _EXCLUSIVE.get(kind, ("",))):
        faults.add(where, f"has both {' and '.join(_EXCLUSIVE[kind])}; keep one of them.")
    if settings.get("decimal", ".") == settings.get("thousands"):
        faults.add(where, "decimal and thousands are the same character; declare two.")
    return Format(kind, settings)
