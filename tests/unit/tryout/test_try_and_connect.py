"""`holdtime try` and `holdtime connect`, from the command line on, on a small folder."""

import json

import pytest

from pipeline.base import log
from pipeline.cli.main import main

NETWORK = """
[group]
name = "Saltmarsh Isles Clinics"
[[feed]]
name = "cycles"
kind = "cycle"
sites = ["north", "south"]
location = "logs/{site}/*.csv"
format = { kind = "delimited", separator = ";" }
[feed.column]
unit_serial = "Serial"
cycle_number = "No"
started = { from = "Start", format = "%d/%m/%Y %H:%M" }
ended = { from = "End", format = "%d/%m/%Y %H:%M" }
program = { from = "Program", values = { "W134" = "wrapped_134" } }
outcome = { from = "Result", values = { "OK" = "complete", "Stop" = "stopped" } }
stop_reason = { from = "Why", values = { "E1" = "low_water" }, otherwise = "=unknown" }
hold_min_celsius = { from = "Tmin", optional = true }
hold_max_kpa = { from = "Pmax", unit = "psi", optional = true }
operator_code = { from = "By", optional = true }
"""
SITES = """site_id,name,region,time_zone,altitude_m,practice,opened_on,closed_on,owner
north,North,Isles,UTC,0,weekly,2019-04-01,,
south,South,Isles,UTC,0,weekly,2019-04-01,,
"""
UNITS = """unit_serial,site_id,label,air_removal,from_on,to_on
A-1001,north,Room 1,prevacuum,2021-06-01,
"""
HEADER = "Serial;No;Start;End;Program;Result;Why;Tmin;Pmax\n"
GOOD = "A-1001;{0};{0}/05/2026 08:00;{0}/05/2026 08:40;W134;OK;;134.2;44.3\n"


@pytest.fixture(autouse=True)
def _restored_log():
    before = log.LOGGER.handlers[:], log.LOGGER.level, log.LOGGER.propagate
    yield
    log.LOGGER.handlers[:], log.LOGGER.level, log.LOGGER.propagate = before


@pytest.fixture
def folder(tmp_path, monkeypatch):
    for name, text in (("network.toml", NETWORK), ("sites.csv", SITES), ("units.csv", UNITS)):
        (tmp_path / name).write_text(text)
    for site in ("north", "south"):
        (tmp_path / "logs" / site).mkdir(parents=True)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def logged(folder, *lines, header=HEADER, site="north"):
    path = folder / "logs" / site / "cycles.csv"
    path.write_text(header + "".join(lines))
    return str(path)


def test_a_file_of_which_every_line_would_be_used_ends_with_0_and_stores_nothing(folder, capsys):
    path = logged(folder, *(GOOD.format(day) for day in range(10, 15)))
    before = sorted(folder.rglob("*"))
    assert main(["try", path]) == 0
    out = capsys.readouterr().out
    assert 'cycles.csv: as feed "cycles" (cycle, delimited), site north' in out
    assert "6 lines = 1 layout + 5 used + 0 held + 0 duplicate" in out
    assert "line 2: A-1001;10;10/05/2026 08:00" in out
    assert "psi → kPa" in out
    assert "305.438" in out  # 44.3 psi at 6.894757 kPa each (NIST SP 811, appendix B.8)
    assert sorted(folder.rglob("*")) == before


def test_lines_that_would_be_held_are_told_with_their_rule_and_text(folder, capsys):
    path = logged(
        folder,
        GOOD.format(10),
        GOOD.format(11).replace("A-1001", "A-1OO1"),  # no such unit
        GOOD.format(12).replace("12/05/2026 08:00", "31/02/2026 08:00"),  # no such day
        GOOD.format(13).replace("OK", "Huh"),  # no such word
        "short;line\n",
        "Total: 4\n",
    )
    assert main(["try", path]) == 30
    out = capsys.readouterr().out
    assert "1 layout + 1 used + 5 held" in out
    for told in ("CYC-03: The unit is in", "STG-11: Column started", "STG-13: Column outcome"):
        assert told in out
    assert "line 3: A-1OO1" in out
    assert "line 4: 31/02/2026 08:00" in out
    assert "line 6: short;line" in out
    assert "line 7 looks like a total: add skip = '^Total'" in out
    assert '"Huh" = "..."  # 1 line' in out
    assert "CYC-03 The unit is in the register: 1 held." in out


def test_hints_ask_about_units_and_name_the_commonest_texts_without_a_meaning(folder, capsys):
    hot = [
        GOOD.format(day)
        .replace("134.2", "273")
        .replace("OK;;", "Stop;E07;")
        .replace("44.3", "29.5")
        for day in range(10, 15)
    ]
    main(["try", logged(folder, *hot)])
    out = capsys.readouterr().out
    assert "hold_min_celsius: largest 273: is this °F?" in out
    assert 'Is it unit = "psi", gauge = true?' in out
    assert '"E07" = "..."  # 5 lines' in out
    assert "counted as unknown" in out


def test_a_file_that_is_set_aside_is_told_with_what_its_shape_seems_to_be(folder, capsys):
    path = logged(folder, GOOD.format(10), GOOD.format(11), header="Export\n" + HEADER)
    assert main(["try", path]) == 30
    out = capsys.readouterr().out
    assert "The whole file would be set aside" in out
    assert "header_line seems to be 2; the feed says 'nothing'" in out


def test_a_declaration_with_a_fault_ends_with_10(folder, capsys):
    path = logged(folder, GOOD.format(10))
    assert main(["try", path, "--feed", "cycle"]) == 10
    assert 'has no feed "cycle". Known: cycles.' in capsys.readouterr().err
    (folder / "network.toml").write_text(NETWORK.replace('"psi"', '"psy"'))
    assert main(["try", path]) == 10
    assert 'has the unit "psy"' in capsys.readouterr().err


def test_machines_get_the_same(folder, capsys):
    assert main(["try", logged(folder, GOOD.format(10), site="south"), "--json"]) == 0
    [trial] = json.loads(capsys.readouterr().out)["trials"]
    assert (trial["site_id"], trial["used_count"], trial["line_count"]) == ("south", 1, 2)


def test_nothing_in_a_file_can_write_to_the_terminal(folder, capsys):
    evil = GOOD.format(10).replace("OK", "\x1b]0;gone\x07")
    main(["try", logged(folder, evil, f"\x1b[2J{evil}", "\u202e;x\n")])
    out = capsys.readouterr().out
    assert r"\x1b]0;gone\x07" in out
    assert all(one.isprintable() for one in out.splitlines())


def test_a_first_clinic_is_connected_from_a_sample_to_every_line_used(
    tmp_path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "logs" / "north" / "runs-2026-05.csv"
    path.parent.mkdir(parents=True)
    path.write_text(HEADER + "".join(GOOD.format(day) for day in range(10, 16)))
    assert main(["try", str(path)]) == 30  # the draft leaves a word open, so lines are held
    assert 'name = "runs"' in capsys.readouterr().out
    assert not (tmp_path / "network.toml").exists()
    assert main(["connect", str(path), "--site", "north"]) == 0
    assert "holdtime check-config" in capsys.readouterr().out
    assert main(["check-config"]) == 10
    assert "nothing in name, region, time_zone" in capsys.readouterr().err
    # What a person then does: fill in the registers, and give the one open word its meaning.
    (tmp_path / "sites.csv").write_text(SITES)
    (tmp_path / "units.csv").write_text(UNITS)
    drafted = (tmp_path / "network.toml").read_text()
    assert '# TODO "W134" = "..."' in drafted
    settled = drafted.replace('# TODO "W134" = "..."', '"W134" = "wrapped_134"')
    (tmp_path / "network.toml").write_text(settled)
    assert main(["check-config"]) == 0
    assert main(["try", str(path)]) == 0
    assert main(["connect", str(path), "--site", "north"]) == 10
    assert (tmp_path / "network.toml").read_text() == settled


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        (["try", "gone.csv"], 20, "there is no such file"),
        (["connect", "network.toml"], 10, "--site north-street"),
        (["connect", "network.toml", "--site", "../x"], 10, "use a-z, 0-9 and dashes"),
        (["connect", "sites.csv", "--site", "north", "--name", "cycles"], 10, "already"),
    ],
)
def test_what_cannot_be_done_is_told(folder, capsys, arguments, code, told):
    assert main(arguments) == code
    assert told in capsys.readouterr().err
    assert (folder / "network.toml").read_text() == NETWORK
