"""Bytes in, staged tables out: each test lands one file or several and looks at the rows."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.base.files import sha256, write_whole
from pipeline.config.network import Column, Feed, Format, Network, Site
from pipeline.stage.stage import StageResult, stage_files
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.ledger import LandedFile, file_id, landed_path
from pipeline.warehouse.statements import create

MODIFIED = datetime(2026, 10, 1, 6, 30)


@dataclass(frozen=True)
class Result:
    """The staged tables after one call, with what the call gave."""

    con: duckdb.DuckDBPyConnection
    summary: StageResult

    def rows(self, table: str, *columns: str) -> list[tuple[Any, ...]]:
        return self.con.execute(
            f"SELECT {', '.join(columns)} FROM stage.{table} ORDER BY file_id, line"
        ).fetchall()

    @property
    def held(self) -> list[tuple[Any, ...]]:
        return self.con.execute(
            "SELECT line, rule_id, column_name, found FROM stage.held ORDER BY ALL"
        ).fetchall()

    @property
    def messages(self) -> list[str]:
        return [
            message
            for (message,) in self.con.execute(
                "SELECT message FROM stage.held ORDER BY line, message"
            ).fetchall()
        ]

    @property
    def counts(self) -> tuple[int, int, int]:
        """Lines, of them layout, of them records, of the only file."""
        (row,) = self.con.execute(
            "SELECT line_count, layout_count, read_count FROM stage.file"
        ).fetchall()
        return row

    @property
    def reasons(self) -> list[str | None]:
        return [
            reason
            for (reason,) in self.con.execute(
                "SELECT reason FROM stage.file ORDER BY path"
            ).fetchall()
        ]


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with open_memory() as con:
        create(con, "stage")
        yield con


@pytest.fixture
def make_feed() -> Callable[..., Feed]:
    """A feed from a kind, a format and columns; a text stands for the source's name."""

    def made(kind: str, settings: dict[str, Any], columns: dict[str, Any], **more: Any) -> Feed:
        declared = dict(settings)
        feed = {"site_ids": ("quay",), "time_zone": "site"} | more
        return Feed(
            "feed",
            kind,
            feed["site_ids"],
            "logs/*",
            Format(declared.pop("kind", "delimited"), declared),
            feed["time_zone"],
            as_columns(columns),
            as_columns(feed.get("reading", {})),
        )

    return made


def as_columns(declared: dict[str, Any]) -> tuple[Column, ...]:
    return tuple(
        Column(target, one) if isinstance(one, str) else Column(target, **one)
        for target, one in declared.items()
    )


@pytest.fixture
def stage(con: duckdb.DuckDBPyConnection, tmp_path: Path) -> Callable[..., Result]:
    """Land the bytes of some files for one feed and stage them together."""

    def staged(
        feed: Feed, *files: bytes | tuple[str, bytes], zone: str = "Europe/London"
    ) -> Result:
        sites = {
            "quay": Site("quay", "Quay", "Outer", zone, 0.0, "x", date(2020, 1, 1)),
            "tower": Site(
                "tower", "Tower", "Outer", zone, 2000.0, "x", date(2020, 1, 1), barometer_kpa=90.0
            ),
            "hill": Site("hill", "Hill", "Outer", zone, 2000.0, "x", date(2020, 1, 1)),
        }
        network = Network(
            tmp_path, "Saltmarsh", True, sites, (), (feed,), tmp_path / "s", tmp_path / "p", "f"
        )
        landed = []
        for number, one in enumerate(files):
            site_id, data = one if isinstance(one, tuple) else (feed.site_ids[0], one)
            sha = sha256(data)
            write_whole(landed_path(network.state_folder / "landed", sha), data)
            path = f"logs/{number}"
            landed.append(
                LandedFile(file_id("feed", site_id, sha), "feed", site_id, path, sha, MODIFIED)
            )
        return Result(con, stage_files(con, network, landed))

    return staged
