"""A small network's folder that is right, for tests to spoil."""

from pathlib import Path

import pytest

NETWORK = """\
[group]
name = "Saltmarsh Isles Clinics"
invented = true

[[feed]]
name = "cycles"
kind = "cycle"
sites = ["gannet-quay", "umber-bay"]
location = "logs/{site}/*.csv"
format = { kind = "delimited", separator = ";", decimal = "," }
[feed.column]
unit_serial = "Unit"
cycle_number = "No"
program = "Program"
started = { from = "Start", format = "%d.%m.%Y %H:%M" }
outcome = { from = "Result", values = { "OK" = "complete" } }
hold_max_kpa = { from = "Pmax", unit = "psi", gauge = true }
"""
SITES = """\
site_id,name,region,time_zone,altitude_m,practice,opened_on,closed_on,owner
gannet-quay,Gannet Quay,Outer Banks,Europe/London,4,weekly,2020-01-01,,J. Fenn
umber-bay,Umber Bay,The Levels,Europe/London,120,weekly,2021-05-01,,
"""
UNITS = """\
unit_serial,site_id,label,air_removal,from_on,to_on
SI-0001,gannet-quay,Unit 1,prevacuum,2020-01-01,2026-03-01
SI-0001,umber-bay,Unit 2,prevacuum,2026-03-01,
SI-0002,umber-bay,Unit 1,gravity,2021-05-01,
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "network.toml").write_text(NETWORK, encoding="utf-8")
    (tmp_path / "sites.csv").write_text(SITES, encoding="utf-8")
    (tmp_path / "units.csv").write_text(UNITS, encoding="utf-8")
    return tmp_path


@pytest.fixture
def spoil(folder: Path):
    def spoiled(name: str, old: str, new: str) -> Path:
        text = (folder / name).read_text(encoding="utf-8")
        assert old in text
        (folder / name).write_text(text.replace(old, new), encoding="utf-8")
        return folder

    return spoiled
