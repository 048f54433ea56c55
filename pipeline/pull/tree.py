"""Which files of a server match a pattern, asked folder by folder.

fsspec's own glob leaves out what it may not list, and says nothing; a clinic would look empty.
"""

from collections.abc import Iterator
from fnmatch import fnmatchcase
from typing import Any
from urllib.parse import unquote

from pipeline.pull.walk import is_wild

Info = dict[str, Any]
_DEEPEST = 32
"""Folders within folders that `**` enters; a link on a server could make them endless."""


def matched(system: Any, pattern: str) -> Iterator[Info]:
    """What a pattern with a wildcard matches; raises what the driver raises for a folder."""
    parts = pattern.split("/")
    first = next(i for i, part in enumerate(parts) if is_wild(part))
    yield from _below(system, "/".join(parts[:first]), parts[first:], 0)


def _below(system: Any, folder: str, parts: list[str], depth: int) -> Iterator[Info]:
    part, rest = parts[0], parts[1:]
    if not is_wild(part):
        if rest:
            yield from _below(system, f"{folder}/{part}", rest, depth)
        else:
            yield from (one for one in _entries(system, folder) if _name(one) == part)
        return
    entries = _entries(system, folder)
    if part == "**":
        yield from _matching(system, entries, rest or ["*"], depth)
        for one in entries:
            if one["type"] == "directory" and depth < _DEEPEST:
                yield from _below(system, one["name"].rstrip("/"), parts, depth + 1)
        return
    yield from _matching(system, entries, parts, depth)


def _matching(system: Any, entries: list[Info], parts: list[str], depth: int) -> Iterator[Info]:
    part, rest = parts[0], parts[1:]
    for one in entries:
        if fnmatchcase(_name(one), part):
            if not rest:
                yield one
            elif one["type"] == "directory":
                yield from _below(system, one["name"].rstrip("/"), rest, depth)


def _entries(system: Any, folder: str) -> list[Info]:
    try:
        entries = system.ls(f"{folder}/", detail=True)
    except FileNotFoundError:
        return []
    return sorted(entries, key=lambda one: str(one["name"]))


def _name(one: Info) -> str:
    """The last part of a name; the names of web servers are addresses, and escaped."""
    name = str(one["name"]).rstrip("/")
    return unquote(name.rpartition("/")[2]) if "://" in name else name.rpartition("/")[2]
