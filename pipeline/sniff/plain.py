"""Text for a terminal: hostile characters escaped, columns aligned, nothing wider than asked."""

import json
from collections.abc import Sequence

WIDTH = 96


def escape(text: str, width: int | None = None) -> str:
    r"""The text with what cannot be printed as \x1b or \u202e, cut with … at `width`.

    Control and format characters move the cursor, turn the line around or cannot be seen.
    """
    safe = "".join(one if one.isprintable() else _escaped(one) for one in text)
    return safe if width is None or len(safe) <= width else safe[: width - 1] + "…"


def toml_text(text: str) -> str:
    """A TOML basic string; characters that cannot be seen are written by their numbers.

    Half of a pair of surrogates, as JSON may hold, is no character and becomes a question mark.
    """
    whole = text.encode("utf-8", "replace").decode("utf-8")
    quoted = json.dumps(whole, ensure_ascii=False)
    return "".join(
        one
        if one.isprintable()
        else f"\\u{ord(one):04X}"
        if ord(one) <= 0xFFFF
        else f"\\U{ord(one):08X}"
        for one in quoted
    )


def lines_told(count: int) -> str:
    """How many lines, in words."""
    return f"{count:,} line" if count == 1 else f"{count:,} lines"


def aligned(rows: Sequence[Sequence[str]], *, indent: int = 2, width: int = WIDTH) -> list[str]:
    """Rows of cells as lines; the last cell of a row takes what is left of the width."""
    if not rows:
        return []
    columns = max(len(row) for row in rows)
    sizes = [
        max((len(row[i]) for row in rows if i < len(row) - 1), default=0)
        for i in range(columns - 1)
    ]
    lines = []
    for row in rows:
        line = " " * indent + "  ".join(
            [*(cell.ljust(sizes[i]) for i, cell in enumerate(row[:-1])), row[-1]]
        )
        lines.append((line if len(line) <= width else line[: width - 1] + "…").rstrip())
    return lines


def _escaped(character: str) -> str:
    number = ord(character)
    if number < 0x100:
        return f"\\x{number:02x}"
    return f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"
