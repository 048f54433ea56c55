"""The corpus: untidy logs of our own making, each case with the outcome that it must have.

A case is data (cases/*.toml): what it shows, a feed as a person would declare it, files, and what
must become of every line. All cases go through one run of pull, land, stage, check and model, each
with a feed and units of its own, so that none can hide behind another.
"""

import csv
import hashlib
import importlib.util
import io
import json
import os
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from types import ModuleType
from typing import Any

import duckdb
import pytest

from pipeline.config.load import load_network
from pipeline.run import pull_and_land, stage_check_model
from pipeline.warehouse import state
from pipeline.warehouse.connection import open_memory

HERE = Path(__file__).parent
NOW_UTC = datetime(2026, 11, 2, 6, 0)
_SERIALS = "ACDEFGHJKLMNPQRTUVWXY34679"
"""No two of these look alike, so that invented serials are far from each other."""


def _loaded(name: str) -> ModuleType:
    """A module of this folder, which is no package; others here may import it by this name."""
    spec = importlib.util.spec_from_file_location(f"corpus_{name}", HERE / f"{name}.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


xls, recipes = _loaded("xls"), _loaded("recipes")


@dataclass(frozen=True)
class Case:
    """One case: its feeds with their files, its units, and what is expected of it."""

    name: str
    shows: str
    feeds: list[dict[str, Any]]
    units: list[dict[str, str]]
    expect: dict[str, Any] = field(default_factory=dict)

    @property
    def feed_names(self) -> list[str]:
        return [feed["name"] for feed in self.feeds]


def load_cases(folder: Path = HERE / "cases") -> list[Case]:
    """Every case of a folder, in order."""
    return [
        _case(declared)
        for path in sorted(folder.glob("*.toml"))
        for declared in tomllib.loads(path.read_text(encoding="utf-8"))["case"]
    ]


def _case(declared: dict[str, Any]) -> Case:
    name = declared["name"]
    declared = _with_serials(declared, name)
    site = declared.get("site", "quay")
    feeds = declared.get("feed") or [declared]
    own = [{"unit_serial": _serial(name, n), "site_id": site} for n in ("1", "2", "3")]
    return Case(
        name,
        declared["shows"],
        [_feed(name, n, feed, site) for n, feed in enumerate(feeds)],
        own + declared.get("units", []),
        declared["expect"],
    )


def _feed(case: str, number: int, declared: dict[str, Any], site: str) -> dict[str, Any]:
    kind = declared.get("kind", "cycle")
    columns = _defaults()[kind]
    if declared.get("format", {}).get("kind") == "fixed":
        # Such a format names its columns, and a feed cannot ask for one that it has not.
        columns = {target: one for target, one in columns.items() if "optional" not in one}
    columns = columns | declared.get("column", {})
    files = declared.get("file") or [{key: declared[key] for key in declared if key not in _NOT}]
    return {
        "name": case if not number else f"{case}-{number}",
        "kind": kind,
        "sites": declared.get("sites", [site]),
        "format": _format(declared.get("format", {})),
        "time_zone": declared.get("time_zone", "site"),
        "column": {target: one for target, one in columns.items() if one is not False},
        "files": files,
        **{key: declared[key] for key in ("reading", "barometer") if key in declared},
    }


def _format(declared: dict[str, Any]) -> dict[str, Any]:
    usual = {} if "kind" in declared else {"kind": "delimited"}
    if usual and not {"separator", "columns"} & declared.keys():
        usual["separator"] = ","
    return usual | declared


_NOT = {"name", "shows", "feed", "site", "sites", "kind", "format", "column", "expect", "units"}


def _defaults() -> dict[str, Any]:
    return tomllib.loads((HERE / "usual.toml").read_text(encoding="utf-8"))


def _serial(case: str, number: str) -> str:
    digest = hashlib.sha256(f"{case} {number}".encode()).digest()
    return "".join(_SERIALS[byte % len(_SERIALS)] for byte in digest[:8])


def _with_serials(declared: dict[str, Any], case: str) -> dict[str, Any]:
    """The case with @UNIT-1@ and so on replaced by serials of the same length, all its own."""

    def put(value: Any) -> Any:
        if isinstance(value, str):
            for number in ("1", "2", "3"):
                value = value.replace(f"@UNIT-{number}@", _serial(case, number))
        elif isinstance(value, dict):
            return {put(key): put(one) for key, one in value.items()}
        elif isinstance(value, list):
            return [put(one) for one in value]
        return value

    put_in = put(declared)
    assert isinstance(put_in, dict)
    return put_in


def write_network(folder: Path, cases: list[Case]) -> None:
    """The network's folder: registers, declarations, and the files of all cases."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "sites.csv").write_text((HERE / "sites.csv").read_text("utf-8"), "utf-8")
    rows = [unit for case in cases for unit in case.units]
    with (folder / "units.csv").open("w", encoding="utf-8", newline="") as stream:
        names = ["unit_serial", "site_id", "label", "air_removal", "from_on", "to_on"]
        writer = csv.DictWriter(stream, names)
        writer.writeheader()
        for row in rows:
            usual = {"label": "Room", "air_removal": "prevacuum", "from_on": "2020-01-01"}
            writer.writerow(usual | row)
    lines = ["[group]", 'name = "Saltmarsh Isles Clinics"', "invented = true"]
    for feed in (feed for case in cases for feed in case.feeds):
        lines += ["[[feed]]", f'location = "logs/{feed["name"]}/{{site}}/**"']
        lines += [f"{key} = {_toml(value)}" for key, value in feed.items() if key != "files"]
        _write_files(folder / "logs" / feed["name"], feed)
    (folder / "network.toml").write_text("\n".join(lines), "utf-8")


def _write_files(folder: Path, feed: dict[str, Any]) -> None:
    for number, file in enumerate(feed["files"]):
        path = folder / file.get("site", feed["sites"][0]) / file.get("path", f"{number}.log")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(recipes.made(file))
        modified = datetime.fromisoformat(file.get("modified", "2026-11-01T06:00:00+00:00"))
        os.utime(path, (modified.timestamp(), modified.timestamp()))


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(k)} = {_toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return json.dumps(value)


def ran(folder: Path, cases: list[Case]) -> duckdb.DuckDBPyConnection:
    """Pull, land, stage, check and model the files of some cases; the warehouse."""
    write_network(folder, cases)
    network = load_network(folder)
    _, landed = pull_and_land(network, NOW_UTC)
    con = open_memory()
    with state.transaction(con):
        stage_check_model(con, network, landed)
    return con


def table(text: str) -> tuple[list[str], list[list[str]]]:
    """A table as the cases write it: names, then a line a row, fields parted by bars."""
    lines = list(csv.reader(io.StringIO(text.strip()), delimiter="|", quoting=csv.QUOTE_NONE))
    names, *rows = [[one.strip() for one in line] for line in lines]
    return names, rows


@pytest.fixture(scope="session")
def corpus(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """The warehouse after one run over the whole corpus."""
    with ran(tmp_path_factory.mktemp("corpus"), load_cases()) as con:
        yield con


@pytest.fixture
def as_table():
    return table


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """One test a case."""
    if "case" in metafunc.fixturenames:
        metafunc.parametrize("case", load_cases(), ids=lambda case: case.name)
