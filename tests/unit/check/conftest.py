"""A warehouse with invented registers, and a way to put rows into its staged tables."""

import json
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.config.kinds import kind
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory

SITES = [
    # site_id           altitude_m
    ("gannet-quay", 0),
    ("high-moor", 1609.344),
]
UNITS = [
    # serial    site           from_on            to_on
    ("SMI-1001", "gannet-quay", date(2024, 1, 1), None),
    ("SMI-1002", "gannet-quay", date(2024, 1, 1), date(2025, 6, 1)),
    ("SMI-1002", "high-moor", date(2025, 6, 1), None),
]
WRITTEN_UTC = datetime(2026, 3, 5, 6, 0)


@pytest.fixture
def con() -> duckdb.DuckDBPyConnection:
    con = open_memory()
    build.prepare(con)
    for site_id, altitude_m in SITES:
        con.execute(
            "INSERT INTO register.site VALUES (?, 'A', 'North', 'UTC', ?, 'weekly', ?, NULL, NULL)",
            [site_id, altitude_m, date(2020, 1, 1)],
        )
    for serial, site_id, from_on, to_on in UNITS:
        con.execute(
            "INSERT INTO register.assignment VALUES (?, ?, 'Unit 1', 'prevacuum', ?, ?)",
            [serial, site_id, from_on, to_on],
        )
    return con


Put = Callable[..., None]


@pytest.fixture
def put(con: duckdb.DuckDBPyConnection) -> Put:
    """Put rows of one file into a staged table: lines are counted, instants are one value each."""

    def put_rows(table: str, rows: list[dict[str, Any]], file_id: str = "file-1") -> None:
        con.execute(
            """
            INSERT INTO stage.file
            VALUES (?, 'logs', ?, 'gannet-quay', ?, ?, ?, 9, 1, 8, 'read', NULL)
            """,
            [file_id, table, f"{file_id}.csv", file_id, WRITTEN_UTC],
        )
        for line, row in enumerate(rows, start=2):
            filled = {"file_id": file_id, "line": line, "site_id": "gannet-quay"}
            for name, value in row.items():
                if name in kind(table).instants:
                    filled |= {f"{name}_{form}": value for form in ("text", "local", "utc")}
                else:
                    filled[name] = value
            marks = ", ".join(f"${name} AS {name}" for name in filled)
            con.execute(f"INSERT INTO stage.{table} BY NAME SELECT {marks}", filled)

    return put_rows


@pytest.fixture(scope="session")
def examples() -> dict[str, dict[str, Any]]:
    """For each staged table: a good row, and how each rule's good and bad rows differ from it."""
    folder = Path(__file__).parent / "examples"
    return {path.stem: json.loads(path.read_text("utf-8")) for path in folder.glob("*.json")}
