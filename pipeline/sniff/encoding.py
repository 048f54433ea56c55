"""In which encoding a text is written: by its first bytes, what decodes, what reads as words."""

import codecs
import unicodedata
from dataclasses import dataclass

_BYTE_ORDER_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_OF_OFFICES = ("cp1252", "cp850", "cp1250", "cp437", "cp1251", "iso8859-15")
"""Encodings of eight bits that are met, the commoner first. Common practice, no source."""
_EXPECTED = set("°µ²³€£§–—’‘“”«»•…ºª½¼")


@dataclass(frozen=True)
class Encoding:
    """The likeliest encoding; `note` says what a person should look at, None when it is sure."""

    name: str
    note: str | None = None


def encoding_of(data: bytes) -> Encoding:
    """The likeliest encoding of some text."""
    for mark, name in _BYTE_ORDER_MARKS:
        if data.startswith(mark):
            note = None if name == "utf-8" else f"begins with the byte order mark of {name}."
            return Encoding(name, note)
    zeros = [data[start:4096:2].count(0) for start in (0, 1)]
    half = max(1, min(len(data), 4096) // 2)
    if max(zeros) > 0.4 * half:
        name = "utf-16-le" if zeros[1] > zeros[0] else "utf-16-be"
        return Encoding(name, f"every other byte is 0, as in {name} without a byte order mark.")
    try:
        data.decode("utf-8")
        return Encoding("utf-8")
    except UnicodeDecodeError as error:
        at, found = error.start, data[error.start]
    scored = sorted(((-_score(data, name), i) for i, name in enumerate(_OF_OFFICES)))
    name = _OF_OFFICES[scored[0][1]]
    word = _around(data, at).decode(name, "replace")
    return Encoding(
        name, f'not UTF-8: byte {at + 1:,} is 0x{found:02X}. As {name} it reads "{word}".'
    )


def encoding_hint(data: bytes, declared: str) -> str | None:
    """A question when a file does not read, or reads as nonsense, in the declared encoding."""
    found = encoding_of(data)
    try:
        text = data.decode(declared)
    except (UnicodeDecodeError, LookupError):
        note = found.note or "all of it is UTF-8."
        return f'encoding: {note} Declare encoding = "{found.name}".'
    is_other = data.decode(found.name, "replace").removeprefix("\ufeff") != text.removeprefix(
        "\ufeff"
    )
    if found.name == "utf-8" and is_other:
        return (
            f'encoding: read as {declared}, but all of it is UTF-8: is that it? Then say "utf-8".'
        )
    return None


def _score(data: bytes, name: str) -> float:
    """How much of what is beyond ASCII reads as letters within words, or as a usual sign."""
    try:
        text = data.decode(name)
    except UnicodeDecodeError:
        return -1.0
    beyond = [i for i, one in enumerate(text) if ord(one) > 127]
    return sum(_is_good(text, i) for i in beyond) / max(1, len(beyond))


def _is_good(text: str, at: int) -> bool:
    """A usual sign, or a letter of its neighbours' script that is not a capital within a word."""
    one, before, after = text[at], text[at - 1 : at], text[at + 1 : at + 2]
    if one in _EXPECTED:
        return True
    if not one.isalpha():
        return False
    scripts = {unicodedata.name(x, "").split(" ")[0] for x in (before, one, after) if x.isalpha()}
    return len(scripts) == 1 and not (one.isupper() and before.islower())


def _around(data: bytes, at: int) -> bytes:
    bounds = b' ,;\t|\r\n"'
    start, end = at, at
    while start > 0 and data[start - 1] not in bounds and at - start < 20:
        start -= 1
    while end < len(data) and data[end] not in bounds and end - at < 20:
        end += 1
    return data[start:end]
