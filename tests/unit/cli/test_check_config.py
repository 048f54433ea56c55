"""check-config names every fault of every file that people keep, in one go."""

import pytest

from pipeline.base.errors import Exit
from pipeline.cli.main import main

NETWORK = """
[group]
name = "Saltmarsh"
[[feed]]
name = "cycles"
kind = "cycle"
sites = ["quay"]
location = "logs/{site}/*.csv"
time_zone = "site"
format = { kind = "delimited" }
[feed.column]
unit_serial = "Serial"
cycle_number = "No"
program = "Program"
started = "Start"
outcome = "Result"
"""
SITES = """site_id,name,region,time_zone,altitude_m,practice,opened_on
quay,Quay,Outer Banks,Atlantic/Azores,4,our-rule,2020-01-01
"""
UNITS = """unit_serial,site_id,label,air_removal,from_on
U-1,quay,Unit 1,gravity,2020-01-01
"""
RULE = """
title = "Our rule"
asks = "What we decided."
jurisdiction = "ours"
reviewed_on = 2026-02-01
inherits = "weekly"
[[task]]
task = "deep_clean"
days = 14
grace_days = 2
who = "user"
source = "our own decision"
confidence = "policy"
"""


@pytest.fixture
def folder(tmp_path):
    files = {
        "network.toml": NETWORK,
        "sites.csv": SITES,
        "units.csv": UNITS,
        "practice/our-rule.toml": RULE,
    }
    (tmp_path / "practice").mkdir()
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def change(folder, name, written, instead):
    text = (folder / name).read_text(encoding="utf-8")
    assert written in text
    (folder / name).write_text(text.replace(written, instead), encoding="utf-8")


def told(folder, capsys) -> list[str]:
    assert main(["check-config", "--folder", str(folder)]) == Exit.CONFIGURATION
    return capsys.readouterr().err.splitlines()


def test_a_folder_without_a_fault_is_counted(folder, capsys):
    change(folder, "practice/our-rule.toml", "days = 14", "days = 14\ncycles = 60")
    assert main(["check-config", "--folder", str(folder)]) == Exit.DONE
    assert capsys.readouterr().out == ("Saltmarsh: no fault found. Sites: 1, units: 1, feeds: 1.\n")


def test_a_profile_that_asks_for_less_without_a_reason_is_told(folder, capsys):
    # 14 days are fewer than the 30 inherited, but the 100 cycles inherited are gone.
    assert told(folder, capsys) == [
        'our-rule.toml: "task/deep_clean" asks for less than "weekly" does: at least every 14 '
        "days; overdue 2 days later. There it is: at least every 30 days or 100 cycles; overdue 7 "
        'days later; closed days do not count. Write reason = "..." beside it, or ask for as much.'
    ]


def test_faults_of_the_registers_do_not_hide_those_of_the_profiles(folder, capsys):
    change(folder, "sites.csv", "Atlantic/Azores", "Atlantic/Azors")
    change(folder, "practice/our-rule.toml", "deep_clean", "deep_cleen")

    registers, profiles = told(folder, capsys)
    assert registers.startswith('sites.csv line 2: site "quay" has time zone "Atlantic/Azors"')
    assert profiles == (
        'our-rule.toml: [[task]] 1: has task = "deep_cleen", which no page has a name for. Did you '
        'mean "deep_clean"?'
    )


def test_a_site_that_follows_no_profile_there_is_is_told_beside_the_faults_of_profiles(
    folder, capsys
):
    change(folder, "sites.csv", "our-rule", "our-rul")
    change(folder, "practice/our-rule.toml", "days = 14", "days = 0")

    profiles, site = told(folder, capsys)
    assert profiles == "our-rule.toml: [[task]] 1: has days = 0; write a number from 1 to 99,999."
    assert site.endswith('of which there is no profile. Did you mean "our-rule"?')
