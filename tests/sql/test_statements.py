"""Runs every case: tests/sql/<schema>/<table>/<case>/, a file for each input table, and expect.txt.

A case reads: given these rows, as of the day that expect.txt names, the statement gives these rows
and no others. expect.txt lists only the columns that matter. A new case needs no Python.

Tables are aligned text: columns two blanks apart or more, "-" is null, "#" begins a remark, and a
cell such as 2025-06-02..2025-06-06, or the same with a time, stands for a row each day. What a file
leaves out comes from defaults.toml; tables that a case leaves out come from common/, else they are
empty.
"""

import re
import tomllib
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace

import duckdb
import pytest

from pipeline.config.network import Site
from pipeline.measure.window import Window
from pipeline.practice.profiles import load_profiles, write_profiles
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.statements import in_order, statement, statements
from tests.by_hand import count_cycles

HERE = Path(__file__).parent
FACTS = in_order(open_memory(), "fact")
CASES = sorted(path.parent for path in HERE.glob("*/*/*/expect.txt"))
DEFAULTS = tomllib.loads((HERE / "defaults.toml").read_text(encoding="utf-8"))
APART = re.compile(r" {2,}")
DAYS = re.compile(r"(\d{4}-\d\d-\d\d)\.\.(\d{4}-\d\d-\d\d)( \d\d:\d\d)?")
AS_OF = re.compile(r"^# as of (\d{4}-\d\d-\d\d)$", re.MULTILINE)

Rows = list[list[str | None]]


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case.relative_to(HERE)))
def test_the_statement_gives_the_rows_of_the_case_one_for_each_key(case: Path) -> None:
    text = (case / "expect.txt").read_text(encoding="utf-8")
    as_of = AS_OF.search(text)
    assert as_of, f"{case}/expect.txt does not say: # as of YYYY-MM-DD"
    schema, name = case.parts[-3:-1]
    con = given(case)
    run(con, schema, name, Window.of(date.fromisoformat(as_of[1])))

    header, rows = read_table(case / "expect.txt")
    con.execute("CREATE TABLE expected AS SELECT " + ", ".join(f"'' AS {c}" for c in header))
    con.execute("DELETE FROM expected")
    insert(con, "expected", rows)
    types = column_types(con, "main.result")
    typed = ", ".join(f"{column}::{types[column]} AS {column}" for column in header)

    found = con.execute(f"SELECT {', '.join(header)} FROM result ORDER BY ALL").fetchall()
    assert found == con.execute(f"SELECT {typed} FROM expected ORDER BY ALL").fetchall()
    key = statement(schema, name).header_value("key")
    assert (
        con.execute(f"SELECT {key} FROM result GROUP BY {key} HAVING count(*) > 1").fetchall() == []
    )


@pytest.mark.parametrize("name", [one.name for one in statements("fact")])
def test_every_fact_has_a_case(name: str) -> None:
    assert any(case.parts[-3:-1] == ("fact", name) for case in CASES)


@pytest.mark.parametrize("name", [one.name for one in statements("measure")])
def test_every_measure_has_a_case(name: str) -> None:
    assert any(case.parts[-3:-1] == ("measure", name) for case in CASES)


def given(case: Path) -> duckdb.DuckDBPyConnection:
    """The model and practice tables of a case."""
    con = open_memory()
    build.prepare(con)
    build.rebuild_touched(con)
    quay = Site("quay", "Quay", "Outer Banks", "Europe/London", 0, "weekly", date(2020, 1, 1))
    write_profiles(con, load_profiles(SimpleNamespace(sites={"quay": quay}, folder=HERE)))  # type: ignore[arg-type]
    files = {path.stem: path for path in sorted((HERE / "common").glob("*.txt"))}
    for table, path in (files | {path.stem: path for path in case.glob("*.*.txt")}).items():
        load(con, table, path)
    con.execute(f"CREATE OR REPLACE TABLE model.unit AS {statement('model', 'unit').text}")
    count_cycles(con)
    return con


def run(con: duckdb.DuckDBPyConnection, schema: str, name: str, window: Window) -> None:
    """Make the table main.result with the statement's rows, after the facts that it reads."""
    con.execute("CREATE SCHEMA fact")
    wanted = statement(schema, name)
    for one in FACTS:
        con.execute(f"CREATE TABLE {one.table} AS {one.text}", window.parameters(one.parameters))
        if one == wanted:
            break
    con.execute(f"CREATE TABLE result AS {wanted.text}", window.parameters(wanted.parameters))


def read_table(path: Path) -> tuple[list[str], Rows]:
    lines = [
        APART.split(line.strip())
        for line in path.read_text(encoding="utf-8").splitlines()
        if line.strip() and not line.startswith("#")
    ]
    header, *rows = lines
    assert all(len(row) == len(header) for row in rows), f"{path}: a row has other columns"
    return header, [
        [None if cell == "-" else cell for cell in one] for row in rows for one in spread(row)
    ]


def spread(row: list[str]) -> list[list[str]]:
    for index, cell in enumerate(row):
        if match := DAYS.fullmatch(cell):
            first, last = map(date.fromisoformat, match.groups()[:2])
            days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
            time = match[3] or ""
            return [[*row[:index], f"{day}{time}", *row[index + 1 :]] for day in days]
    return [row]


def load(con: duckdb.DuckDBPyConnection, table: str, path: Path) -> None:
    """Put a file's rows in place of the table's."""
    header, rows = read_table(path)
    types = column_types(con, table)
    assert set(header) <= types.keys(), f"{path}: {set(header) - types.keys()} is not in {table}"
    con.execute("CREATE TABLE given AS SELECT " + ", ".join(f"'' AS {c}" for c in header))
    con.execute("DELETE FROM given")
    insert(con, "given", rows)
    typed = ", ".join(f"{column}::{types[column]} AS {column}" for column in header)
    left_out = {c: e for c, e in DEFAULTS.get(table, {}).items() if c not in header}
    others = "".join(f", {expression} AS {column}" for column, expression in left_out.items())
    con.execute(f"DELETE FROM {table}")
    con.execute(
        f"INSERT INTO {table} BY NAME WITH typed AS (SELECT {typed} FROM given) "
        f"SELECT *{others} FROM typed"
    )
    con.execute("DROP TABLE given")


def insert(con: duckdb.DuckDBPyConnection, table: str, rows: Rows) -> None:
    for row in rows:
        con.execute(f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})", row)


def column_types(con: duckdb.DuckDBPyConnection, table: str) -> dict[str, str]:
    return dict(
        con.execute(
            "SELECT column_name, data_type FROM duckdb_columns() "
            "WHERE concat(schema_name, '.', table_name) = ?",
            [table],
        ).fetchall()
    )
