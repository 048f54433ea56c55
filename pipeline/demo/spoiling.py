"""What goes wrong with a file on its way: a line cut short, a letter in a number, and the like."""

import re
from collections.abc import Callable

import numpy as np

Spoil = Callable[[str, int, str], str]
"""Takes the text of a file, the lines of its header and its decimal mark; gives the text sent."""

_SPOILT_SHARE = 0.035


def untouched(text: str, header_lines: int, decimal: str) -> str:
    """The file as written."""
    del header_lines, decimal
    return text


def spoiler(rng: np.random.Generator, told: list[str]) -> Spoil:
    """A chance that a file is spoilt, drawn now; `told` is given the fault, for the truth."""
    fault = int(rng.integers(0, 4))
    if rng.random() >= _SPOILT_SHARE:
        return untouched
    where = float(rng.random())

    def spoil(text: str, header_lines: int, decimal: str) -> str:
        lines = text.splitlines()
        header, body = lines[:header_lines], lines[header_lines:]
        if len(body) < 3:
            return text
        at = int(where * (len(body) - 1))
        name, body = _FAULTS[fault](header, body, at, decimal)
        told.append(name)
        # The line that was cut short is the last, and nothing ends it.
        end = "" if fault == 0 else "\n"
        return "\n".join([*header, *body]) + end

    return spoil


def _cut_short(header: list[str], body: list[str], at: int, decimal: str) -> tuple[str, list[str]]:
    del header, at, decimal
    return "last line cut short", [*body[:-1], body[-1][: len(body[-1]) * 3 // 5]]


def _letter_in_number(
    header: list[str], body: list[str], at: int, decimal: str
) -> tuple[str, list[str]]:
    del header
    spoilt = re.sub(rf"(\d+{re.escape(decimal)})\d", r"\1O", body[at], count=1)
    return "letter in a number", [*body[:at], spoilt, *body[at + 1 :]]


def _unknown_serial(
    header: list[str], body: list[str], at: int, decimal: str
) -> tuple[str, list[str]]:
    del header, decimal
    return "unknown serial", [*body[: at + 1], body[at].replace("SI-0", "SI-O", 1), *body[at + 1 :]]


def _header_again(
    header: list[str], body: list[str], at: int, decimal: str
) -> tuple[str, list[str]]:
    del decimal
    # A file without a header gets an empty line instead.
    again = header[-1] if header else ""
    return "header repeated", [*body[:at], again, *body[at:]]


_FAULTS = (_cut_short, _letter_in_number, _unknown_serial, _header_again)
