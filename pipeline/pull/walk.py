"""Which paths below a folder match a pattern. Follows no link on its own account."""

import os
from collections.abc import Iterator
from fnmatch import fnmatchcase


def is_wild(part: str) -> bool:
    """True for a part of a pattern that may match several names."""
    return any(mark in part for mark in "*?[")


def walk(folder: str, parts: list[str]) -> Iterator[str]:
    """Paths in the order of their names; each part matches one level, and `**` any number.

    A folder that is not there holds nothing; one that may not be read raises. Links to folders
    are not entered for `**`: two of them can make a maze without an end.
    """
    part, rest = parts[0], parts[1:]
    if not is_wild(part):
        path = f"{folder}{os.sep}{part}"
        if rest:
            yield from walk(path, rest)
        elif os.path.lexists(path):
            yield path
        return
    entries = _entries(folder)
    if part == "**":
        yield from walk(folder, rest or ["*"])
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                yield from walk(entry.path, parts)
        return
    for entry in entries:
        if fnmatchcase(entry.name, part):
            if not rest:
                yield entry.path
            elif entry.is_dir():
                yield from walk(entry.path, rest)


def _entries(folder: str) -> list["os.DirEntry[str]"]:
    try:
        with os.scandir(folder) as entries:
            return sorted(entries, key=lambda entry: entry.name)
    except (FileNotFoundError, NotADirectoryError):
        return []
