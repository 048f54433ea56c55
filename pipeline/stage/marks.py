"""The separator and quotation mark of delimited text, each as one ASCII character."""

import re
from dataclasses import dataclass
from typing import Any, Self

from pipeline.base.errors import FileError
from pipeline.config.formats import SPACES
from pipeline.stage.text import Text, read_text

_BLANKS = "  "
_AROUND = re.compile(rb"^[ \t]+|[ \t]+$", re.MULTILINE)
_ALIGNED = re.compile(rb"[ \t]{2,}|\t")
_STAND_INS = ("\x1f", "\x1e")
"""For marks beyond ASCII: UNIT and RECORD SEPARATOR, which ISO/IEC 646 has for this purpose."""


@dataclass(frozen=True)
class Marks:
    """What stands in the text that is read, and what stood in the file for it."""

    separator: str
    quote: str
    stand_ins: tuple[tuple[str, str], ...] = ()

    @classmethod
    def of(cls, settings: dict[str, Any]) -> Self:
        """The marks that a format declares."""
        separator = settings.get("separator", ",")
        # Two blanks are beyond ASCII in that they are no one character.
        declared = (_BLANKS if separator == SPACES else separator, settings.get("quote", '"'))
        pairs = zip(declared, _STAND_INS, strict=True)
        used = [
            mark if mark.isascii() and mark != _BLANKS else stand_in for mark, stand_in in pairs
        ]
        changed = zip(used, declared, strict=True)
        return cls(used[0], used[1], tuple(pair for pair in changed if pair[0] != pair[1]))

    def stood_in(self, text: Text) -> Text:
        """The text with stand-ins in the place of marks beyond ASCII."""
        data = text.data
        for stand_in, mark in self.stand_ins:
            if stand_in.encode() in data:
                raise FileError(
                    f"The file holds the control character {stand_in!r}, which cannot be told "
                    f"from its mark {mark}. Export it without control characters."
                )
            if mark == _BLANKS:
                data = _ALIGNED.sub(stand_in.encode(), _AROUND.sub(b"", data))
            else:
                data = data.replace(mark.encode(), stand_in.encode())
        return read_text(data, "utf-8") if self.stand_ins else text

    def restored(self, value: str) -> str:
        """A text with the file's own marks."""
        for stand_in, mark in self.stand_ins:
            value = value.replace(stand_in, mark)
        return value
