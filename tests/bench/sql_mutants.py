"""Which wrong statements the cases of tests/sql would let pass; run as a script, with names.

    python tests/bench/sql_mutants.py fact.lookback fact.spore_test

Each statement is made wrong in one place at a time: a comparison moved by one step, a number by
one, a word replaced, a condition turned round, an outer join made an inner one, what is not known
left null. A change that no case notices is printed with its line. It either does not change what
the statement says, or a case is missing. Without names all facts and measures are tried, which
takes some minutes.
"""

import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import duckdb

from pipeline.measure.window import Window
from pipeline.warehouse.statements import Statement, statement
from tests.sql.test_statements import AS_OF, CASES, column_types, given, insert, read_table, run

WRONG = (
    (re.compile(r"(?<= )(<=|>=|<>|<|>|=)(?= )"), {
        "<=": ("<", ">="), ">=": (">", "<="), "<": ("<=", ">="), ">": (">=", "<="),
        "=": ("<>",), "<>": ("=",),
    }),
    (re.compile(r"(?<= )[+-](?= )"), {"+": ("-",), "-": ("+",)}),
    (re.compile(r"\b(?:min|max|arg_min|arg_max|least|greatest|bool_or|bool_and)(?=\()"), {
        "min": ("max",), "max": ("min",), "arg_min": ("arg_max",), "arg_max": ("arg_min",),
        "least": ("greatest",), "greatest": ("least",),
        "bool_or": ("bool_and",), "bool_and": ("bool_or",),
    }),
    (re.compile(r"\b(?:NOT|DESC|LEFT|DISTINCT)\b (?=\S)(?!NULL|MATERIALIZED)"), None),
    (re.compile(r"\bIS NOT NULL\b|\bIS NULL\b"), {
        "IS NOT NULL": ("IS NULL",), "IS NULL": ("IS NOT NULL",),
    }),
    (re.compile(r"(?<= )(?:AND|OR)(?= )"), {"AND": ("OR",), "OR": ("AND",)}),
    (re.compile(r"(?<![\w.'$])\d+(?![\w.'])"), lambda found: (str(int(found) + 1),)),
    (re.compile(r"'[a-z_]+'"), lambda found: (f"'not_{found[1:]}",)),
    (re.compile(r"coalesce\([\w.]+, [\w.']+\)"), lambda found: (found[9:].split(",")[0],)),
)  # fmt: skip
"""Patterns, and what stands in place of each: of a table, of a function, or nothing at all."""


@dataclass(frozen=True)
class Mutant:
    """A statement made wrong in one place: its line in the file, what stood there, what stands."""

    line: int
    text: str
    was: str
    is_now: str


@dataclass(frozen=True)
class Prepared:
    """A case whose input, and whose facts but the last, are made."""

    con: duckdb.DuckDBPyConnection
    window: Window
    columns: str
    expected: list[tuple[object, ...]]


def mutants(one: Statement) -> Iterator[Mutant]:
    """Every wrong version, from the top; comments are left as they are."""
    code = re.sub(r"--[^\n]*", lambda found: " " * len(found[0]), one.text)
    above = one.header.count("\n") + 1
    for pattern, others in WRONG:
        for found in pattern.finditer(code):
            was = found[0]
            if others is None:
                instead: tuple[str, ...] = ("",)
            else:
                instead = others(was) if callable(others) else others[was]
            for now in instead:
                text = code[: found.start()] + now + code[found.end() :]
                yield Mutant(code.count("\n", 0, found.start()) + above, text, was, now)


def prepared(case: Path) -> Prepared:
    """Made once, because a mutant changes only the last statement."""
    schema, name = case.parts[-3:-1]
    path = case / "expect.txt"
    as_of = AS_OF.search(path.read_text(encoding="utf-8"))
    assert as_of
    con, window = given(case), Window.of(date.fromisoformat(as_of[1]))
    run(con, schema, name, window)
    header, rows = read_table(path)
    types = column_types(con, "main.result")
    con.execute("CREATE TABLE expected AS SELECT " + ", ".join(f"'' AS {c}" for c in header))
    con.execute("DELETE FROM expected")
    insert(con, "expected", rows)
    typed = ", ".join(f"{column}::{types[column]} AS {column}" for column in header)
    expected = con.execute(f"SELECT {typed} FROM expected ORDER BY ALL").fetchall()
    return Prepared(con, window, ", ".join(header), expected)


def is_noticed(one: Statement, mutant: Mutant, cases: list[Prepared]) -> bool:
    """Whether a case gets other rows, or none because the statement cannot be run."""
    for case in cases:
        parameters = case.window.parameters(frozenset(re.findall(r"\$([a-z_]+)", mutant.text)))
        try:
            found = case.con.execute(
                f"WITH result AS MATERIALIZED ({mutant.text}) "
                f"SELECT {case.columns} FROM result ORDER BY ALL",
                parameters,
            ).fetchall()
        except duckdb.Error:
            return True
        if found != case.expected:
            return True
    return False


def survivors(one: Statement) -> tuple[int, list[Mutant]]:
    """How many were tried, and those that no case noticed."""
    cases = [prepared(case) for case in CASES if case.parts[-3:-1] == (one.schema, one.name)]
    tried = list(mutants(one))
    return len(tried), [mutant for mutant in tried if not is_noticed(one, mutant, cases)]


def main(names: list[str]) -> None:
    """Print what no case notices, a line each, and the sum of each statement."""
    everything = sorted({f"{case.parts[-3]}.{case.parts[-2]}" for case in CASES})
    for name in names or everything:
        one = statement(*name.split("."))
        count, unnoticed = survivors(one)
        for mutant in unnoticed:
            line = (one.header + one.text).splitlines()[mutant.line - 1].strip()
            print(f"    {name}:{mutant.line}: {mutant.was!r} to {mutant.is_now!r} in: {line}")
        print(f"{name}: {count - len(unnoticed)} of {count} noticed", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
