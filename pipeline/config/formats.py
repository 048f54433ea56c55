"""What may be said about the shape of a file, and the faults of saying it wrongly."""

import codecs
import re
from collections.abc import Callable
from typing import Any

from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.network import Format

_Check = Callable[[Any], str | None]


def _one_character(value: Any) -> str | None:
    return None if isinstance(value, str) and len(value) == 1 else "write one character"


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


def _pattern(*groups: str) -> _Check:
    def check(value: Any) -> str | None:
        try:
            named = re.compile(value).groupindex
        except (re.error, TypeError) as error:
            return f"not a pattern ({error})"
        absent = [f"(?P<{group}>...)" for group in groups if group not in named]
        return f"the pattern needs {' and '.join(absent)}" if absent else None

    return check


_NUMBER_MARKS: dict[str, _Check] = {"decimal": _one_character, "thousands": _one_character}
SETTINGS: dict[str, dict[str, _Check]] = {
    "delimited": {
        "separator": _one_character,
        "quote": _one_character,
        "encoding": _encoding,
        "header_line": _line_number,
        **_NUMBER_MARKS,
    },
    "spreadsheet": {"sheet": _text, "header_line": _line_number, **_NUMBER_MARKS},
    "jsonlines": {"encoding": _encoding, **_NUMBER_MARKS},
    "parquet": {**_NUMBER_MARKS},
    "printout": {
        "encoding": _encoding,
        "begin": _pattern(),
        "field": _pattern("name", "value"),
        "row": _pattern(),
        **_NUMBER_MARKS,
    },
}
"""Each kind of format with its settings and what a setting must be."""

_REQUIRED = {"printout": ("field",)}


def read_format(where: str, declared: Any, faults: Faults) -> Format:
    """The format as declared; faults are noted."""
    if not isinstance(declared, dict) or "kind" not in declared:
        faults.add(where, 'has no format; write format = { kind = "delimited", separator = "," }.')
        return Format("delimited")
    settings = {name: value for name, value in declared.items() if name != "kind"}
    kind = declared["kind"]
    if kind not in SETTINGS:
        faults.add(where, f'has format kind "{kind}". {did_you_mean(str(kind), SETTINGS)}')
        return Format("delimited")
    for name, value in settings.items():
        check = SETTINGS[kind].get(name)
        if check is None:
            hint = did_you_mean(name, SETTINGS[kind])
            faults.add(where, f'format {kind} has no setting "{name}". {hint}')
        elif fault := check(value):
            faults.add(where, f"format setting {name} is {value!r}: {fault}.")
    for name in _REQUIRED.get(kind, ()):
        if name not in settings:
            faults.add(where, f"format {kind} needs the setting {name}.")
    if settings.get("decimal", ".") == settings.get("thousands"):
        faults.add(where, "decimal and thousands are the same character; declare two.")
    return Format(kind, settings)
