"""JSON lines: one object a line; "a.b" reaches into an object within. DuckDB reads each line once.

A line that is not one whole object costs only itself. Source of the shape: RFC 8259, jsonlines.org.
"""

import json
from collections.abc import Iterable, Iterator, Sequence

import duckdb
import polars as pl

from pipeline.base.errors import FileError
from pipeline.config.network import Feed
from pipeline.stage.lines import TEXT, Lines, read_lines
from pipeline.stage.parts import FILE, LINE, Account, Part, held_rows, require, sources
from pipeline.stage.rules import OBJECT, TWICE, Rule
from pipeline.warehouse.connection import open_memory


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """One part for all files."""
    yield objects(read_lines(files, feed), feed, OBJECT)


def objects(lines: Lines, feed: Feed, rule: Rule) -> Part:
    """Rows of lines that are one object each; others are held by `rule`."""
    is_blank = pl.col(TEXT).str.strip_chars() == ""
    filled = lines.frame.filter(~is_blank)
    with open_memory() as con:
        is_object = _are_objects(con, filled)
        doubled = _doubled(con, filled.filter(is_object), feed)
        whole = filled.filter(is_object).join(doubled, on=[FILE, LINE], how="anti")
        decimal = feed.format.settings.get("decimal", ".")
        rows = _values(con, whole, list(sources(feed.columns)), decimal)
        reasons = lines.reasons | _without_a_key(con, whole, rows, feed)
    broken = filled.filter(~is_object).rename({TEXT: "found"})
    twice = [
        held_rows(feed.kind, TWICE, some.rename({TEXT: "found"}), name=name)
        for (name,), some in doubled.group_by("name", maintain_order=True)
    ]
    held = pl.concat([lines.held, held_rows(feed.kind, rule, broken), *twice])
    layouts = dict(lines.frame.filter(is_blank)[FILE].value_counts().iter_rows())
    accounts = {file: Account(reason=reason) for file, reason in reasons.items()}
    for file, count in lines.line_counts.items():
        layout = layouts.get(file, 0)
        accounts.setdefault(file, Account(count, layout, count - layout))
    is_kept = ~pl.col(FILE).is_in(list(reasons))
    return Part(accounts, {feed.kind: rows.filter(is_kept)}, held.filter(is_kept))


def _are_objects(con: duckdb.DuckDBPyConnection, lines: pl.DataFrame) -> pl.Series:
    con.register("lines", lines.select(t=TEXT))
    return _fetched(
        con, "SELECT CASE WHEN json_valid(t) THEN json_type(t) = 'OBJECT' ELSE false END FROM lines"
    ).to_series()


def _doubled(con: duckdb.DuckDBPyConnection, objects: pl.DataFrame, feed: Feed) -> pl.DataFrame:
    """Objects in which a key that the feed asks for stands twice with two values, and its name.

    RFC 8259, section 4, leaves open which of the two is meant.
    """
    con.register("lines", objects.select(t=TEXT))
    query = "SELECT len(json_keys(t)) > len(list_distinct(json_keys(t))) FROM lines"
    suspects = objects.filter(_fetched(con, query).to_series())
    names = [_first_doubled(text, sources(feed.columns)) for text in suspects[TEXT]]
    return suspects.with_columns(pl.Series("name", names, pl.String)).drop_nulls("name")


def _first_doubled(text: str, asked: Iterable[str]) -> str | None:
    pairs = json.loads(text, object_pairs_hook=list)
    for name in asked:
        values = [value for key, value in pairs if key == name.partition(".")[0]]
        if any(value != values[0] for value in values):
            return name
    return None


def _values(
    con: duckdb.DuckDBPyConnection, objects: pl.DataFrame, names: list[str], decimal: str
) -> pl.DataFrame:
    """The value of each name as text; numbers and truth values as JSON writes them."""
    if not names:
        return objects.select(FILE, LINE)
    con.register("lines", objects.select(t=TEXT))
    # A name with a dot may also be a key as it stands.
    paths = [path for name in names for path in (_pointer(name.split(".")), _pointer([name]))]
    columns = [
        f"coalesce(found[{2 * i + 1}], found[{2 * i + 2}]) AS c{i}" for i in range(len(names))
    ]
    values = _fetched(
        con,
        f"""
        WITH read AS (SELECT json_extract_string(t, [{", ".join(paths)}]) AS found FROM lines)
        SELECT {", ".join(columns)} FROM read
        """,
    )
    values.columns = names
    if decimal != ".":
        values = _with_decimal(con, values, paths, decimal)
    return pl.concat([objects.select(FILE, LINE), values], how="horizontal")


def _with_decimal(
    con: duckdb.DuckDBPyConnection, values: pl.DataFrame, paths: list[str], decimal: str
) -> pl.DataFrame:
    """Numbers of JSON, which have a point, with the mark that the feed's texts have."""
    kinds = ", ".join(
        f"coalesce(json_type(t, {path}), json_type(t, {plain})) = 'DOUBLE' AS c{i}"
        for i, (path, plain) in enumerate(zip(paths[::2], paths[1::2], strict=True))
    )
    is_number = _fetched(con, f"SELECT {kinds} FROM lines")
    return values.select(
        value.zip_with(~mask.fill_null(value=False), value.str.replace(".", decimal, literal=True))
        for value, mask in zip(values, is_number, strict=True)
    )


def _without_a_key(
    con: duckdb.DuckDBPyConnection, objects: pl.DataFrame, rows: pl.DataFrame, feed: Feed
) -> dict[int, str]:
    """Files in which no object has a key that the feed needs, as a misspelt key would look."""
    needed = [name for name, is_optional in sources(feed.columns).items() if not is_optional]
    nulls = rows.group_by(FILE).agg(pl.col(needed).is_null().all())
    suspects = nulls.filter(pl.any_horizontal(pl.lit(value=False), *needed))[FILE].sort()
    reasons = {}
    for file in suspects:
        con.register("lines", objects.filter(pl.col(FILE) == file).select(t=TEXT))
        keys = _fetched(con, "SELECT DISTINCT unnest(json_keys(t)) AS key FROM lines ORDER BY key")
        present = keys["key"].to_list()
        present += [name for name in needed if name not in present and _exists(con, name)]
        try:
            require(feed.columns, present, "The file")
        except FileError as error:
            reasons[file] = str(error)
    return reasons


def _exists(con: duckdb.DuckDBPyConnection, name: str) -> bool:
    path = _pointer(name.split("."))
    query = f"SELECT coalesce(bool_or(json_exists(t, {path})), false) FROM lines"
    return bool(_fetched(con, query).item())


def _pointer(keys: list[str]) -> str:
    """An SQL literal that leads to a value. Source: RFC 6901, JSON Pointer."""
    parts = [key.replace("~", "~0").replace("/", "~1").replace("'", "''") for key in keys]
    return "'/" + "/".join(parts) + "'"


def _fetched(con: duckdb.DuckDBPyConnection, query: str) -> pl.DataFrame:
    frame = pl.from_arrow(con.sql(query).to_arrow_table())
    assert isinstance(frame, pl.DataFrame)
    return frame
