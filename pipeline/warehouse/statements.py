"""The statements in sql/: found by name, described by their headers, ordered by what they read."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from graphlib import TopologicalSorter
from typing import Any

import duckdb

from pipeline.base.assets import asset

_HEADER = re.compile(r"\A(?:--.*\n)+")
_PARAMETER = re.compile(r"\$([a-z_]+)")


@dataclass(frozen=True)
class Statement:
    """One file of sql/: the table it makes, its header comment and its text."""

    schema: str
    name: str
    header: str
    text: str

    @property
    def table(self) -> str:
        """The table's full name, such as model.cycle."""
        return f"{self.schema}.{self.name}"

    @property
    def parameters(self) -> frozenset[str]:
        """Names of the `$name` parameters in the text."""
        return frozenset(_PARAMETER.findall(self.text))

    def header_value(self, label: str) -> str | None:
        """What the header says after `label:`, such as the key; None when it says nothing."""
        match = re.search(rf"^-- {label}: (.+)$", self.header, re.MULTILINE)
        return match[1] if match else None


@cache
def statement(schema: str, name: str) -> Statement:
    """Read sql/<schema>/<name>.sql."""
    text = asset("sql", schema, f"{name}.sql").read_text(encoding="utf-8")
    header = _HEADER.match(text)
    assert header, f"sql/{schema}/{name}.sql does not begin with a comment that names its table"
    return Statement(schema, name, header[0], text[header.end() :].strip())


def statements(schema: str) -> list[Statement]:
    """All statements of a schema, by name."""
    return [statement(schema, path.stem) for path in sorted(asset("sql", schema).glob("*.sql"))]


def create(con: duckdb.DuckDBPyConnection, schema: str) -> None:
    """Make a schema and its tables, for a folder whose files are definitions."""
    con.execute(f"CREATE SCHEMA IF NOT EXISTS {schema}")
    for definition in statements(schema):
        con.execute(definition.text)


def in_order(con: duckdb.DuckDBPyConnection, schema: str) -> list[Statement]:
    """The schema's statements, each after those whose tables it reads.

    The tables come from DuckDB's own parser, so a name in a comment or a string does not count.
    A circle raises graphlib.CycleError with its members.
    """
    by_table = {one.table: one for one in statements(schema)}
    reads = {
        one.table: sorted(tables_read(con, one.text) & by_table.keys()) for one in by_table.values()
    }
    return [by_table[table] for table in TopologicalSorter(reads).static_order()]


_TABLES_READ: dict[str, frozenset[str]] = {}
"""By SELECT, because to parse those of a schema takes longer than many of them run."""


def tables_read(con: duckdb.DuckDBPyConnection, select: str) -> frozenset[str]:
    """Names, with their schema, of the tables that a SELECT reads."""
    if select not in _TABLES_READ:
        _TABLES_READ[select] = _parsed(con, select)
    return _TABLES_READ[select]


def _parsed(con: duckdb.DuckDBPyConnection, select: str) -> frozenset[str]:
    row = con.execute("SELECT json_serialize_sql(?::VARCHAR)", [select]).fetchone()
    assert row is not None
    tree = json.loads(row[0])
    assert not tree.get("error"), f"{tree.get('error_message')}: {select[:200]}"
    return frozenset(
        f"{node['schema_name']}.{node['table_name']}"
        for node in _nodes(tree)
        if node.get("type") == "BASE_TABLE" and node.get("schema_name")
    )


def _nodes(tree: Any) -> Iterator[dict[str, Any]]:
    if isinstance(tree, dict):
        yield tree
        tree = list(tree.values())
    if isinstance(tree, list):
        for branch in tree:
            yield from _nodes(branch)
