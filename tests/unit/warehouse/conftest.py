"""Staged rows written as tables in the test."""

from datetime import datetime

import pytest

from pipeline.warehouse.build import forget_touched, prepare, rebuild_touched, touch
from pipeline.warehouse.connection import open_memory


@pytest.fixture
def con():
    with open_memory() as con:
        prepare(con)
        con.execute(
            "INSERT INTO register.assignment VALUES "
            "('SI-1', 'gannet-quay', 'Unit 1', 'prevacuum', DATE '2020-01-01', DATE '2026-03-01'), "
            "('SI-1', 'umber-bay', 'Unit 4', 'prevacuum', DATE '2026-03-01', NULL)"
        )
        yield con


@pytest.fixture
def arrive(con):
    """Stage rows as the files of one run, and bring the model up to them."""

    def arrived(kind: str, files: dict[str, tuple[str, list[dict]]]) -> None:
        for file_id, (modified, rows) in files.items():
            con.execute(
                "INSERT INTO stage.file VALUES (?, 'feed', ?, 'gannet-quay', ?, ?, ?, ?, 1, ?, "
                "'read', NULL)",
                [
                    file_id,
                    kind,
                    f"{file_id}.csv",
                    file_id,
                    datetime.fromisoformat(modified),
                    len(rows) + 1,
                    len(rows),
                ],
            )
            for line, row in enumerate(rows, start=2):
                filled = {"file_id": file_id, "line": line, "site_id": "gannet-quay"} | row
                marks = ", ".join(f"${name} AS {name}" for name in filled)
                con.execute(f"INSERT INTO stage.{kind} BY NAME SELECT {marks}", filled)
        touch(con, list(files))
        rebuild_touched(con)
        forget_touched(con)

    return arrived
