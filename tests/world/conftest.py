"""A small invented network on disk, with every shape of log, made once for all tests here."""

import os
import re
import shutil
from datetime import date, datetime
from pathlib import Path

import pytest

from pipeline.config.load import load_network
from pipeline.demo.network import write_network
from pipeline.run import run

ENDS_ON = date(2026, 10, 31)
NOW_UTC = datetime(2026, 11, 2, 3, 0)


@pytest.fixture(scope="session")
def ends_on() -> date:
    """The last day of the world's logs."""
    return ENDS_ON


@pytest.fixture(scope="session")
def now_utc() -> datetime:
    """The instant at which every run here takes place."""
    return NOW_UTC


@pytest.fixture(scope="session")
def world(tmp_path_factory) -> Path:
    """The network's folder before any run; read only: copy it to change it."""
    folder = tmp_path_factory.mktemp("world") / "saltmarsh"
    write_network(folder, site_count=8, month_count=2, seed=7, ends_on=ENDS_ON)
    for path in sorted(folder.glob("logs/*/cycles-*.csv"))[::2]:
        _spoil(path)
    return folder


def _spoil(path: Path) -> None:
    """Cut the last line short, and let a line before it come from a unit that nobody knows."""
    before = path.stat()
    lines = path.read_bytes().splitlines(keepends=True)
    lines[-2] = re.sub(rb"SI-\d", b"SI-O", lines[-2], count=1)
    lines[-1] = lines[-1][:30]
    path.write_bytes(b"".join(lines))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


@pytest.fixture
def folder(world: Path, tmp_path: Path) -> Path:
    """A copy of the world of one's own."""
    return Path(shutil.copytree(world, tmp_path / "saltmarsh"))


@pytest.fixture(scope="session")
def run_once():
    """Run the main job on a folder, at a fixed instant."""

    def ran(folder: Path, as_of: date = ENDS_ON):
        return run(load_network(folder), as_of, NOW_UTC)

    return ran


@pytest.fixture(scope="session")
def ran(world, tmp_path_factory, run_once):
    """The world's folder after one run, and what the run told; read only: copy it to change it."""
    folder = Path(shutil.copytree(world, tmp_path_factory.mktemp("ran") / "saltmarsh"))
    return folder, run_once(folder)


@pytest.fixture
def ran_folder(ran, tmp_path: Path) -> Path:
    """A copy of one's own of the world after one run."""
    return Path(shutil.copytree(ran[0], tmp_path / "ran", symlinks=True))
