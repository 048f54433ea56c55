"""Workbooks opened by another process, which one of them may break without harm to the others."""

import json
import struct
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from pipeline.base.errors import FileError

_READER = Path(__file__).with_name("cells.py")
_LONGEST_SECONDS = 300

Rows = list[list[str | None]]


def open_workbooks(
    files: Sequence[bytes], sheet: str | None, decimal: str
) -> Iterator[Rows | FileError]:
    """The rows of a sheet of each workbook, or why there are none; the first sheet for None."""
    position = 0
    while position < len(files):
        answers = _answers(files[position:], sheet, decimal)
        for answer in answers:
            yield _rows(answer, sheet)
        position += len(answers)
        if position < len(files):
            yield FileError(
                "The workbook takes more memory or time than a log needs, or breaks the reader. "
                "Delete what lies beyond the log, or save it anew, and send it again."
            )
            position += 1


def _answers(files: Sequence[bytes], sheet: str | None, decimal: str) -> list[dict[str, Any]]:
    """Answers for the files in their order, up to the one that ended the process."""
    asked = json.dumps({"sheet": sheet, "decimal": decimal}).encode() + b"\n"
    sent = b"".join([asked, *(struct.pack("<Q", len(data)) + data for data in files)])
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


def _rows(answer: dict[str, Any], sheet: str | None) -> Rows | FileError:
    if "fault" in answer:
        return FileError(
            f"The file is no readable workbook: {answer['fault']}. "
            "Save it as .xlsx and send it again."
        )
    if answer["rows"] is None:
        found = ", ".join(f'"{name[:40]}"' for name in answer["names"][:20]) or "none"
        return FileError(
            f'The workbook has no sheet "{sheet or ""}"; found: {found}. '
            "Rename the sheet, or change the feed."
        )
    rows: Rows = answer["rows"]
    return rows
