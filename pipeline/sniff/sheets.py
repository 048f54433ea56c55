"""Prints the first rows of every sheet of a workbook; run as a script, imported for nothing.

A crafted workbook can make the library ask for more memory than there is, which ends the process:
so it is a process of its own, with a limit. Bytes come on standard input, JSON goes out.
"""

import io
import json
import sys
from typing import Any

_MEMORY_BYTES = 2 << 30
_MOST_SHEETS, _MOST_ROWS = 20, 2000


def main() -> None:
    """Print {"sheets": [[name, rows], ...]}, or {"fault"} when it is no workbook."""
    _limit_memory()
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(sys.stdin.buffer.read()))
        sheets = []
        for name in workbook.sheet_names[:_MOST_SHEETS]:
            cells = workbook.get_sheet_by_name(name).to_python(skip_empty_area=False)
            sheets.append([name, [[_text(cell) for cell in row] for row in cells[:_MOST_ROWS]]])
    except CalamineError as error:
        print(json.dumps({"fault": str(error)}))
        return
    print(json.dumps({"sheets": sheets}))


def _limit_memory() -> None:
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (_MEMORY_BYTES, _MEMORY_BYTES))
    # Not every system has limits; the process is still one of its own.
    except (ImportError, ValueError, OSError):
        return


def _text(cell: Any) -> str:
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return cell.isoformat() if hasattr(cell, "isoformat") else str(cell)


if __name__ == "__main__":
    main()
