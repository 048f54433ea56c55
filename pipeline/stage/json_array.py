"""JSON: one array of objects in a file, at the top or at a path of keys within.

An element counts as a line, whatever lines it is written on. Source of the shape: RFC 8259.
"""

import json
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import polars as pl

from pipeline.base.errors import FileError
from pipeline.config.network import Feed
from pipeline.stage.jsonlines import objects
from pipeline.stage.lines import TEXT, Lines
from pipeline.stage.parts import FILE, HELD, LINE, Part
from pipeline.stage.rules import ELEMENT
from pipeline.stage.text import read_text


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """One part for all files."""
    elements: dict[int, list[str]] = {}
    reasons: dict[int, str] = {}
    for position, data in enumerate(files):
        try:
            elements[position] = _elements(data, feed)
        except FileError as error:
            reasons[position] = str(error)
    counts = {position: len(texts) for position, texts in elements.items()}
    frame = pl.DataFrame(
        {
            FILE: pl.Series(np.repeat(list(counts), list(counts.values())), dtype=pl.UInt32),
            LINE: pl.Series(
                [i + 1 for count in counts.values() for i in range(count)], dtype=pl.Int64
            ),
            TEXT: pl.Series([one for texts in elements.values() for one in texts], dtype=pl.String),
        }
    )
    yield objects(Lines(frame, pl.DataFrame(schema=HELD), counts, reasons), feed, ELEMENT)


def _elements(data: bytes, feed: Feed) -> list[str]:
    settings = feed.format.settings
    text = read_text(data, settings.get("encoding", "utf-8"))
    if len(text.bad):
        raise FileError(
            f"Line {text.bad[0] + 1:,} holds bytes that are not {settings.get('encoding', 'utf-8')}"
            ". Declare in the feed the encoding that the file has."
        )
    try:
        # Numbers stay as they are written: a float would change some of them.
        whole = json.loads(
            text.data,
            parse_float=lambda number: number.replace(".", settings.get("decimal", ".")),
            parse_int=str,
            parse_constant=str,
            object_pairs_hook=_object,
        )
    except json.JSONDecodeError as error:
        raise FileError(
            f"The file is not one whole JSON text: {error.msg} on line {error.lineno:,}. It may "
            'have been cut short: send it again. If each line is an object, declare "jsonlines".'
        ) from None
    except RecursionError:
        raise FileError(
            "The file has brackets within brackets without end; it is no log."
        ) from None
    array = _at(whole, settings.get("path"))
    return [json.dumps(one) for one in array]


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object; a key that stands twice has its values in a list, so that neither is believed."""
    made: dict[str, Any] = {}
    for key, value in pairs:
        made[key] = value if key not in made or made[key] == value else [made[key], value]
    return made


def _at(whole: Any, path: str | None) -> list[Any]:
    found, walked = whole, ""
    for key in path.split(".") if path else ():
        if not isinstance(found, dict) or key not in found:
            raise FileError(
                f'The file has no "{key}" {walked or "at its top"}; found: {_shown(found)}. '
                "Send the right file, or change the path of the feed's format."
            )
        found, walked = found[key], f'in "{key}"'
    if not isinstance(found, list):
        raise FileError(
            f"The file holds no array {walked or 'at its top'}, but {_shown(found)}. Declare in "
            'the feed where the array is, such as path = "data.cycles".'
        )
    return found


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "an object with " + (
            ", ".join(f'"{one[:40]}"' for one in list(value)[:20]) or "no keys"
        )
    return "an array" if isinstance(value, list) else "one value"
