"""Workbooks opened by another process, which one of them may break without harm to the others."""

import json
import struct
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from pipeline.base.errors import FileError

_READER = Path(__file__).with_name("cells.py")
_LONGEST_SECONDS = 300

Rows = list[list[str | None]]


@dataclass(frozen=True)
class Asked:
    """Which sheets, by name or pattern (the first for None), and how their cells are told."""

    sheets: tuple[str, ...] | None
    decimal: str = "."
    is_filled: bool = False

    @classmethod
    def of(cls, settings: dict[str, Any]) -> "Asked":
        """What a format declares."""
        one, several = settings.get("sheet"), settings.get("sheets")
        sheets = tuple(several) if several else (one,) if one else None
        return cls(sheets, settings.get("decimal", "."), settings.get("merged") == "fill")


@dataclass(frozen=True)
class Sheet:
    """One sheet, all its rows from the first on."""

    name: str
    rows: Rows


def open_workbooks(files: Sequence[bytes], asked: Asked) -> Iterator[list[Sheet] | FileError]:
    """The sheets asked for of each workbook, or why there are none."""
    position = 0
    while position < len(files):
        answers = _answers(files[position:], asked)
        for answer in answers:
            yield _sheets(answer)
        position += len(answers)
        if position < len(files):
            yield FileError(
                "The workbook takes more memory or time than a log needs, or breaks the reader. "
                "Delete what lies beyond the log, or save it anew, and send it again."
            )
            position += 1


def _answers(files: Sequence[bytes], asked: Asked) -> list[dict[str, Any]]:
    """Answers for the files in their order, up to the one that ended the process."""
    head = json.dumps(asdict(asked)).encode() + b"\n"
    sent = b"".join([head, *(struct.pack("<Q", len(data)) + data for data in files)])
    try:
        told = subprocess.run(
            [sys.executable, "-I", str(_READER)],
            input=sent,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=_LONGEST_SECONDS,
            check=False,
        ).stdout
    except subprocess.TimeoutExpired as expired:
        told = expired.stdout or b""
    # A line that the process could not end is no answer.
    return [json.loads(line) for line in told.split(b"\n")[:-1]]


def _sheets(answer: dict[str, Any]) -> list[Sheet] | FileError:
    if "fault" in answer:
        return FileError(
            f"The file is no readable workbook: {answer['fault']}. "
            "Save it as .xlsx and send it again."
        )
    if "absent" in answer:
        found = ", ".join(f'"{name[:40]}"' for name in answer["names"][:20]) or "none"
        return FileError(
            f'The workbook has no sheet "{answer["absent"]}"; found: {found}. '
            "Rename the sheet, or change the feed."
        )
    return [Sheet(one["name"], one["rows"]) for one in answer["sheets"]]
