from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import duckdb
import pytest

from pipeline.config.network import Column, Feed, Format, Network, Site
from pipeline.land import Landing
from pipeline.pull.fetch import pull
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.ledger import create_ledger

NOW_UTC = datetime(2026, 11, 2, 3, 0)


@pytest.fixture
def ledger() -> Iterator[duckdb.DuckDBPyConnection]:
    with open_memory() as con:
        create_ledger(con)
        yield con


@pytest.fixture
def make_feed():
    def made(
        name: str, location: str, sites=("gannet-quay",), credentials=None, **settings
    ) -> Feed:
        columns = (Column("task", "Task"),)
        form = Format("delimited", settings)
        return Feed(name, "task", sites, location, form, "site", columns, (), credentials)

    return made


@pytest.fixture
def make_network(tmp_path: Path):
    def made(*feeds: Feed, credentials=(), at_once: int = 2, max_file_mib: int = 64) -> Network:
        sites = {
            site_id: Site(site_id, site_id, "Outer", "Europe/London", 5, "x", date(2020, 1, 1))
            for feed in feeds
            for site_id in feed.site_ids
        }
        folder = tmp_path / "network"
        folder.mkdir(exist_ok=True)
        state, pages = folder / "state", folder / "pages"
        return Network(
            folder,
            "Saltmarsh",
            True,
            sites,
            (),
            feeds,
            state,
            pages,
            "f",
            credentials={one.name: one for one in credentials},
            at_once=at_once,
            max_file_mib=max_file_mib,
        )

    return made


@pytest.fixture
def pull_all(ledger: duckdb.DuckDBPyConnection):
    def pulled(network: Network, now_utc: datetime = NOW_UTC, **more):
        landing = Landing(ledger, network.state_folder, now_utc)
        return pull(network, ledger, landing, now_utc, **{"wait": lambda seconds: None} | more)

    return pulled


@pytest.fixture
def write(tmp_path: Path):
    """Write a file of the network's folder."""

    def written(path: str, text: str = "Task\nclean\n") -> Path:
        target = tmp_path / "network" / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8")
        return target

    return written
