"""A small invented network on disk, with every shape of log, made once for all tests here."""

import shutil
from datetime import date, datetime
from pathlib import Path

import pytest

ENDS_ON = date(2026, 10, 31)
NOW_UTC = datetime(2026, 11, 2, 3, 0)


@pytest.fixture(scope="session")
def world(tmp_path_factory) -> Path:
    """The network's folder before any run; read only: copy it to change it."""
    from pipeline.demo.network import write_network

    folder = tmp_path_factory.mktemp("world") / "saltmarsh"
    write_network(folder, site_count=8, month_count=2, seed=7, ends_on=ENDS_ON)
    return folder


@pytest.fixture
def folder(world: Path, tmp_path: Path) -> Path:
    """A copy of the world of one's own."""
    return Path(shutil.copytree(world, tmp_path / "saltmarsh"))


@pytest.fixture
def run_once():
    """Run the main job on a folder, on a fixed day."""
    from pipeline.config.load import load_network
    from pipeline.run import run

    def ran(folder: Path, as_of: date = ENDS_ON):
        return run(load_network(folder), as_of, NOW_UTC)

    return ran
