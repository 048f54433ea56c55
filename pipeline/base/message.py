"""Sentences that are stored as what they are made of, and spoken when somebody reads them.

A step that finds something does not know who will read of it, and in which language. So it stores
the name of the phrase, its number and what fills its blanks, as JSON whose keys are sorted; a blank
may be text from a log (which nobody translates), a number, a day, a row of parts, or a message.
"""

import json
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any

from pipeline.base.language import day_text, language, list_text, numeral, within_sentence
from pipeline.base.phrases import declared, phrase


class Message(str):
    """The JSON of a sentence. As text it is stored; `spoken` gives what is read."""

    __slots__ = ()


Part = Message | str | int | Decimal | date
"""What fills a blank; text that is no message stands in the sentence as it came."""


def message(name: str, number: int | None = None, /, **blanks: Part) -> Message:
    """What `phrase(name, number, ...)` would say, to be said later."""
    made: dict[str, Any] = {"say": name}
    if number is not None:
        made["n"] = int(number)
    if blanks:
        made["with"] = {blank: _parsed(part) for blank, part in blanks.items()}
    return _stored(made)


def verbatim(text: str) -> Message:
    """A text in the words of whoever wrote it."""
    return _stored({"text": text})


def declared_message(name: str, words_there: str) -> Message:
    """What `declared(name, words_there)` would say, to be said later."""
    return _stored({"declared": name, "text": words_there})


def row_of(parts: Iterable[Part], between: Part | None = None) -> Message:
    """Parts in a row: "a, b and c", or with what stands `between` any two of them."""
    made: dict[str, Any] = {"row": [_parsed(part) for part in parts]}
    if between is not None:
        made["between"] = _parsed(between)
    return _stored(made)


def within(part: Message) -> Message:
    """A title as it stands in the middle of a sentence."""
    return _stored({"within": _parsed(part)})


def capital(part: Message) -> Message:
    """A part that begins a sentence."""
    return _stored({"capital": _parsed(part)})


def spoken(text: str) -> str:
    """A stored message in the language in force."""
    return _spoken(language(), text)


@lru_cache(10_000)
def _spoken(_language: str, text: str) -> str:
    return _said(json.loads(text))


def _said(part: Any) -> str:
    match part:
        case str():
            return part
        case int():
            return numeral(part)
        case {"say": name}:
            blanks = {blank: _said(one) for blank, one in part.get("with", {}).items()}
            return phrase(name, part.get("n"), **blanks)
        case {"declared": name, "text": text}:
            return declared(name, text)
        case {"text": text}:
            return str(text)
        case {"day": day}:
            return day_text(date.fromisoformat(day))
        case {"decimal": number}:
            return numeral(Decimal(number))
        case {"row": parts, "between": between}:
            return _said(between).join(map(_said, parts))
        case {"row": parts}:
            return list_text([_said(one) for one in parts])
        case {"within": one}:
            return within_sentence(_said(one))
        case {"capital": one}:
            said = _said(one)
            return said[:1].upper() + said[1:]
    raise AssertionError(f"a message holds {part!r}, which nobody can say")


def _parsed(part: Part) -> Any:
    match part:
        case Message():
            return json.loads(part)
        case Decimal():
            return {"decimal": str(part)}
        case date():
            return {"day": part.isoformat()}
        case str():
            return part
    # Numbers of numpy are no int to json.
    return int(part)


def _stored(made: dict[str, Any]) -> Message:
    text = json.dumps(made, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return Message(text)
