"""The kinds of feed and the columns each may fill, taken from the tables in sql/stage/.

The table's own definition is the one place where a column is declared; a column's name tells its
unit of measure, so nothing else has to.
"""

import re
from dataclasses import dataclass
from functools import cache

from pipeline.base.assets import asset

KINDS = ("cycle", "reading", "test", "task", "closure", "follow_up")

_COLUMN = re.compile(r"^    (?P<name>[a-z0-9_]+) (?P<type>[A-Z]+)", re.MULTILINE)
_GIVEN = {"file_id", "line", "site_id", "is_time_doubtful", "ambient_kpa", "month"}
_INSTANT = re.compile(r"^(?P<name>\w+)_(text|local|utc)$")


@dataclass(frozen=True)
class Kind:
    """One kind of feed: its staged columns in order, and the targets that a feed may map to.

    An instant such as `started` is one target and three columns: _text, _local and _utc.
    """

    name: str
    columns: dict[str, str]
    targets: tuple[str, ...]
    instants: tuple[str, ...]


@cache
def kind(name: str) -> Kind:
    """The kind of this name; KeyError when there is none."""
    if name not in KINDS:
        raise KeyError(name)
    statement = asset("sql", "stage", f"{name}.sql").read_text(encoding="utf-8")
    columns = {match["name"]: match["type"] for match in _COLUMN.finditer(statement)}
    instants = dict.fromkeys(
        match["name"] for column in columns if (match := _INSTANT.match(column))
    )
    plain = [name for name in columns if name not in _GIVEN and not _INSTANT.match(name)]
    return Kind(name, columns, (*instants, *plain), tuple(instants))
