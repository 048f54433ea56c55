"""A minimal workbook of the old binary kind, written record by record.

Source of the shapes: [MS-XLS] and [MS-CFB], the published specifications of both layers.
"""

import struct
from datetime import datetime
from typing import Any

_DAY_FORMAT = 22
"""The built-in number format of a day with a time of day ([MS-XLS] 2.5.165)."""


def workbook(sheets: dict[str, list[list[Any]]], *, date_1904: bool = False) -> bytes:
    """Texts, numbers and real times; every sheet in order."""
    begin = datetime(1904, 1, 1) if date_1904 else datetime(1899, 12, 30)
    bodies = [_sheet(rows, begin) for rows in sheets.values()]
    styles = b"".join(
        _record(0xE0, struct.pack("<HHHBBIIH", 0, form, 1, 0, 0, 0, 0, 0))
        for form in [0] * 16 + [_DAY_FORMAT]
    )
    first = (
        _record(0x809, struct.pack("<HHHHII", 0x600, 5, 0x0DBB, 1997, 0, 6))
        + _record(0x42, struct.pack("<H", 1200))
        + _record(0x22, struct.pack("<H", date_1904))
        + styles
    )
    length = sum(4 + 8 + 2 * len(name) for name in sheets)
    place = len(first) + length + 4
    for name, body in zip(sheets, bodies, strict=True):
        text = name.encode("utf-16-le")
        first += _record(0x85, struct.pack("<IHBB", place, 0, len(name), 1) + text)
        place += len(body)
    return _compound(first + _record(0x0A, b"") + b"".join(bodies))


def _record(kind: int, data: bytes) -> bytes:
    return struct.pack("<HH", kind, len(data)) + data


def _sheet(rows: list[list[Any]], begin: datetime) -> bytes:
    cells = b"".join(
        _cell(y, x, one, begin) for y, row in enumerate(rows) for x, one in enumerate(row)
    )
    width = max(map(len, rows), default=0)
    return (
        _record(0x809, struct.pack("<HHHHII", 0x600, 0x10, 0x0DBB, 1997, 0, 6))
        + _record(0x200, struct.pack("<IIHHH", 0, len(rows), 0, width, 0))
        + cells
        + _record(0x0A, b"")
    )


def _cell(y: int, x: int, value: Any, begin: datetime) -> bytes:
    if value == "":
        return b""
    if isinstance(value, str):
        text = value.encode("utf-16-le")
        return _record(0x204, struct.pack("<HHHHB", y, x, 15, len(value), 1) + text)
    style = 16 if isinstance(value, datetime) else 15
    number = (value - begin).total_seconds() / 86400 if isinstance(value, datetime) else value
    return _record(0x203, struct.pack("<HHHd", y, x, style, number))


def _compound(stream: bytes) -> bytes:
    """One stream in a compound file: allocation table, directory, stream; sectors of 512 bytes."""
    # A stream of less than 4096 bytes would have to lie in a table of its own.
    stream = stream.ljust(max(4096, -(-len(stream) // 512) * 512), b"\0")
    count = len(stream) // 512
    table = [0xFFFFFFFD, 0xFFFFFFFE, *range(3, count + 2), 0xFFFFFFFE]
    assert len(table) <= 128
    free, none = 0xFFFFFFFF, 0xFFFFFFFE
    header = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(16)
    header += struct.pack(
        "<HHHHH6xIIIIIIIIII", 0x3E, 3, 0xFFFE, 9, 6, 0, 1, 1, 0, 4096, none, 0, none, 0, 0
    )
    header += struct.pack("<108I", *[free] * 108)
    fat = struct.pack("<128I", *table, *[free] * (128 - len(table)))
    directory = _entry("Root Entry", 5, 1, none, 0) + _entry("Workbook", 2, free, 2, len(stream))
    return header + fat + directory + bytes(256) + stream


def _entry(name: str, kind: int, child: int, start: int, size: int) -> bytes:
    text = (name + "\0").encode("utf-16-le")
    free = 0xFFFFFFFF
    return (
        text.ljust(64, b"\0")
        + struct.pack("<HBBIII", len(text), kind, 1, free, free, child)
        + bytes(36)
        + struct.pack("<IQ", start, size)
    )
