"""Reads the cells of workbooks in a process of its own; run as a script, imported for nothing.

The library that knows the formats is quick, and ends the whole process when a crafted file makes
it ask for more memory than there is. So it may end this one: it has a memory limit, gets bytes on
its standard input and answers with text, one JSON value a workbook.
"""

import io
import json
import struct
import sys
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from fnmatch import fnmatchcase
from typing import Any

MEMORY_BYTES = 3 << 30


def main() -> None:
    """Answer for each workbook: {"sheets"}, {"names", "absent"}, or {"fault"} when it is none."""
    _limit_memory()
    stream = sys.stdin.buffer
    asked = json.loads(stream.readline())
    while head := stream.read(8):
        data = stream.read(struct.unpack("<Q", head)[0])
        print(json.dumps(_answer(data, asked)), flush=True)


def _limit_memory() -> None:
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    # Not every system has limits; the process is still one of its own.
    except (ImportError, ValueError, OSError):
        return


def _answer(data: bytes, asked: dict[str, Any]) -> dict[str, Any]:
    from python_calamine import CalamineError, CalamineWorkbook

    if not data:
        return {"fault": "it is empty (0 bytes)"}
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(data))
        names = workbook.sheet_names
        chosen, absent = chosen_sheets(names, asked["sheets"])
        if absent or not chosen:
            return {"names": names, "absent": absent}
        sheets = []
        for name in chosen:
            sheet = workbook.get_sheet_by_name(name)
            rows = sheet.to_python(skip_empty_area=False)
            if asked["is_filled"]:
                _fill(rows, sheet.merged_cell_ranges or ())
            texts = [[as_text(cell, asked["decimal"]) for cell in row] for row in rows]
            sheets.append({"name": name, "rows": texts})
    except CalamineError as error:
        return {"fault": str(error)}
    return {"sheets": sheets}


def chosen_sheets(names: list[str], wanted: list[str] | None) -> tuple[list[str], str]:
    """Sheets in the workbook's order, and what no sheet is called; the first sheet for None."""
    if wanted is None:
        return names[:1], ""
    chosen = set()
    for one in wanted:
        found = {one} & set(names) or {name for name in names if fnmatchcase(name, one)}
        if not found:
            return [], one
        chosen |= found
    return [name for name in names if name in chosen], ""


def _fill(rows: list[list[Any]], ranges: Iterable[Any]) -> None:
    """Give the value of a merged area, which stands in its first cell, to the others in it."""
    for (top, left), (bottom, right) in ranges:
        if top >= len(rows) or left >= len(rows[top]):
            continue
        value = rows[top][left]
        for row in rows[top : bottom + 1]:
            for column in range(left, min(right + 1, len(row))):
                row[column] = value if row[column] == "" else row[column]


def as_text(cell: Any, decimal: str) -> str | None:
    """What a cell holds, as the mapping reads text; None for an empty cell."""
    if cell == "":
        return None
    if isinstance(cell, bool):
        return str(cell).lower()
    if isinstance(cell, float):
        # Every whole number comes as a float; beyond 15 digits Excel itself does not keep them.
        is_whole = cell.is_integer() and abs(cell) < 1e15
        return str(int(cell)) if is_whole else repr(cell).replace(".", decimal)
    if isinstance(cell, datetime | date | time):
        return cell.isoformat()
    if isinstance(cell, timedelta):
        seconds = cell.total_seconds()
        return f"{int(seconds // 3600):02}:{int(seconds // 60 % 60):02}:{seconds % 60:02g}"
    return str(cell)


if __name__ == "__main__":
    main()
