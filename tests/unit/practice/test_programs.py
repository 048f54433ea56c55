"""The tables of programs and the programs of single units, and how both tell their faults."""

from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.config.faults import Faults
from pipeline.practice.program import KINDS, WRAPS
from pipeline.practice.program_read import read_programs
from pipeline.practice.program_tables import load_programs, load_tables, write_programs
from pipeline.practice.program_validated import read_validated
from pipeline.practice.shelf import all_profiles
from pipeline.warehouse.connection import open_memory

NOWHERE = SimpleNamespace(folder=Path("nowhere"), assignments=())

# table | air removal | wrap | °C | least hold in seconds | where it is printed, and how it was seen
PRINTED = """
us          | gravity     | wrapped          | 121 | 1800 | CDC 2008, table 7, read
us          | gravity     | wrapped          | 132 |  900 | CDC 2008, table 7, read
us          | gravity     | textile          | 121 | 1800 | CDC 2008, table 7, read
us          | gravity     | textile          | 132 | 1500 | CDC 2008, table 7, read
us          | prevacuum   | wrapped          | 132 |  240 | CDC 2008, table 7, read
us          | steam_flush | textile          | 132 |  240 | CDC 2008, table 7, read
us          | prevacuum   | wrapped          | 135 |  180 | ANSI/AAMI ST79, from memory
us          | gravity     | wrapped          | 135 |  600 | ANSI/AAMI ST79, from memory
us          | gravity     | unwrapped        | 132 |  180 | JADA 122 (1991), as reported
us          | gravity     | unwrapped        | 121 |  900 | JADA 122 (1991), as reported
eu          | prevacuum   | wrapped          | 121 |  900 | Central Sterilising Club, 10.2, read
eu          | prevacuum   | wrapped          | 126 |  600 | Central Sterilising Club, 10.2, read
eu          | prevacuum   | wrapped          | 134 |  180 | Central Sterilising Club, 10.2, read
uk          | prevacuum   | textile          | 134 |  180 | Central Sterilising Club, 10.2, read
eu          | prevacuum   | prion            | 134 | 1080 | several states, as reported
eu          | prevacuum   | penetration_test | 134 |  205 | ISO 11140-5, 3.5 min within 5 s, read
australia   | prevacuum   | wrapped          | 132 |  240 | AS/NZS 4815, from memory
australia   | gravity     | unwrapped        | 126 |  600 | AS/NZS 4815, from memory
"""
MARKS = {"read": "read", "reported": "as reported", "memory": "from memory"}


@pytest.fixture(scope="module")
def tables():
    faults = Faults()
    found = {table.name: table for table in load_tables(faults)}
    assert faults.sentences == []
    return found


@pytest.mark.parametrize("line", PRINTED.strip().splitlines())
def test_each_hold_is_the_printed_one_with_its_mark(tables, line):
    name, removal, wrap, celsius, seconds, printed = (part.strip() for part in line.split("|"))
    found = [
        one
        for one in tables[name].programs
        if (one.air_removal, one.wrap, one.celsius) == (removal, wrap, float(celsius))
    ]
    assert [one.hold_seconds for one in found] == [float(seconds)]
    assert printed.endswith(MARKS[found[0].confidence])


def test_bands_are_four_kelvin_in_small_units_and_three_where_the_memoranda_hold(tables):
    """EN 13060 and the United Kingdom's memoranda, both from memory; none is known for others."""
    bands = {name: table.limit("band_kelvin") for name, table in tables.items()}
    assert bands == {"eu": 4, "uk": 3, "us": None, "australia": None}


def test_every_table_limits_the_distance_from_saturated_steam_and_the_leak(tables):
    """2 K: EN 285, ISO 11140-3; 0.13 kPa/min: HTM 2010, as reported."""
    for table in tables.values():
        assert table.limit("saturation_kelvin") == 2
        assert table.limit("leak_kpa_per_minute") == 0.13


def test_steam_that_only_displaces_air_has_no_row_for_packs_in_europe(tables):
    wraps = {one.wrap for one in tables["eu"].programs if one.air_removal == "gravity"}
    assert wraps == {"unwrapped"}


def test_every_kind_of_program_stands_for_a_wrap_that_tables_may_have():
    assert {wrap for wrap, _ in KINDS.values()} - {"leak_test"} == set(WRAPS)


def test_a_practice_without_a_table_has_no_programs_and_the_others_are_written():
    programs = load_programs(NOWHERE, {"weekly": (), "far": ("further",)})
    with open_memory() as con:
        write_programs(con, programs)
        write_programs(con, programs)
        practices = con.execute("SELECT DISTINCT practice FROM judge.program").fetchall()
        kinds = con.execute("SELECT count(*) FROM judge.kind").fetchone()
    assert practices == [("weekly",)]
    assert kinds == (len(KINDS),)


def test_a_practice_follows_the_table_of_the_nearest_one_that_it_inherits_from():
    parents = {"own": ("eu-en13060", "weekly"), "weekly": (), "other": ("own", "weekly")}
    found = load_programs(NOWHERE, parents).by_practice
    assert {practice: table.name for practice, table in found.items()} == {
        "own": "eu",
        "weekly": "us",
        "other": "us",
    }


def test_the_practice_of_ontario_borrows_no_table_of_another_country():
    """No figures of its own are known: rather not judged than judged by others'."""
    profiles = all_profiles()
    parents = {"canada-ontario": profiles["canada-ontario"].parents}
    assert load_programs(NOWHERE, parents).by_practice == {}


def test_the_fingerprint_moves_with_the_practice_and_with_a_validated_program(tmp_path):
    before = load_programs(NOWHERE, {"weekly": ()}).fingerprint
    assert load_programs(NOWHERE, {"weekly": ()}).fingerprint == before
    assert load_programs(NOWHERE, {"weekly": (), "eu-en13060": ()}).fingerprint != before
    (tmp_path / "programs.csv").write_text(HEADER + "S-1,pouch,2026-03-02,134,,200,,report 7\n")
    network = SimpleNamespace(folder=tmp_path, assignments=(SimpleNamespace(unit_serial="S-1"),))
    assert load_programs(network, {"weekly": ()}).fingerprint != before


TABLE = """
title = "T"
practices = ["weekly"]
reviewed_on = 2026-11-27
lower_edge = "set"
needs_penetration_time = false
lower_edge_source = "S"
lower_edge_confidence = "read"
[limits]
saturation_kelvin = { value = 2, source = "S", confidence = "memory" }
[[program]]
air_removal = ["gravity"]
wraps = ["wrapped"]
celsius = 121
hold_seconds = 1800
source = "S"
confidence = "read"
"""
BROKEN = [
    # in place of                   stands                            is told as
    ('lower_edge = "set"', 'lower_edge = "sets"', 'has lower_edge = \'sets\'. Did you mean "set"?'),
    ("2026-11-27", '"2026-11-27"', "reviewed_on is no day; write it as 2026-11-27"),
    ("_time = false", "_time = 0", "needs_penetration_time is neither true nor false"),
    ('title = "T"', "", "does not say title; it is needed."),
    ('title = "T"', 'title = " "', "has title = ' '; write a text."),
    ('["weekly"]', '"weekly"', "has practices = 'weekly'; write a list of texts"),
    ("saturation_kelvin", "saturation", 'Did you mean "saturation_kelvin"?'),
    ("value = 2", "value = 20", "has saturation_kelvin = 20; write a number from 0.5 to 5."),
    ('{ value = 2, source = "S", confidence = "memory" }', "2", "write { value = …, source = …"),
    ('"gravity"', '"gravitty"', 'has air_removal "gravitty". Did you mean "gravity"?'),
    ('["wrapped"]', "[]", "has wraps = []; write a list of texts"),
    ("hold_seconds = 1800", "hold_seconds = 15", "write a number from 30 to 7200."),
    ("hold_seconds = 1800", "hold_seconds = true", "write a number from 30 to 7200."),
    ("celsius = 121", "celsius = 250", "has celsius = 250; write a number from 100 to 145."),
    ('confidence = "read"\n', 'confidence = "sure"\n', "has confidence = 'sure'."),
    ("celsius = 121", "kelvin = 121", 'has no setting "kelvin".'),
    ("[[program]]", "[program]", "write [limits] for the limits and [[program]]"),
    ("[limits]", "[limits", "is not TOML"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "told"), BROKEN, ids=[new[:24] for _, new, _ in BROKEN])
def test_a_fault_of_a_table_is_told_with_what_to_write_instead(tmp_path, old, new, told):
    assert old in TABLE
    path = tmp_path / "us.toml"
    path.write_text(TABLE.replace(old, new), encoding="utf-8")
    faults = Faults()
    assert read_programs(path, faults) is None
    assert any(told in sentence for sentence in faults.sentences), faults.sentences
    assert all(sentence.startswith("us.toml") for sentence in faults.sentences)


def test_a_table_without_a_fault_is_read(tmp_path):
    path = tmp_path / "us.toml"
    path.write_text(TABLE, encoding="utf-8")
    faults = Faults()
    table = read_programs(path, faults)
    assert faults.sentences == []
    assert table is not None and table.programs[0].hold_seconds == 1800
    assert table.limit("saturation_kelvin") == 2
    assert table.limit("band_kelvin") is None


def test_two_rows_for_the_same_are_told(tmp_path):
    path = tmp_path / "us.toml"
    path.write_text(TABLE + TABLE[TABLE.index("[[program]]") :], encoding="utf-8")
    faults = Faults()
    assert read_programs(path, faults) is None
    assert faults.sentences == [
        "us.toml: [[program]] 2: says gravity, wrapped, 121 °C again, after 1; keep one of the two."
    ]


HEADER = "unit_serial,program,from_on,low_celsius,high_celsius,hold_seconds,drying_seconds,source\n"
SLIPS = [
    # row                                       is told as
    ("S-2,pouch,2026-03-02,134,,200,,r", 'unit "S-2" is not in units.csv. Did you mean "S-1"?'),
    ("S-1,pouches,2026-03-02,134,,200,,r", 'program "pouches" is not one that is judged.'),
    ("S-1,pouch,2.3.2026,134,,200,,r", 'from_on is "2.3.2026"; write a day as 2026-10-31.'),
    ("S-1,pouch,2026-03-02,273,,200,,r", "has celsius = 273.0; write a number from 100 to 145."),
    ("S-1,pouch,2026-03-02,134,133,200,,r", "high_celsius 133 is not above low_celsius 134"),
    ("S-1,pouch,2026-03-02,134,,3,,r", "has hold_seconds = 3.0; write a number from 30 to 7200."),
    ("S-1,pouch,2026-03-02,134,,long,,r", "has hold_seconds = 'long'"),
    ("S-1,pouch,2026-03-02,134,,nan,,r", "has hold_seconds = nan"),
    ("S-1,pouch,2026-03-02,134,,200,,", "nothing in source; fill it in."),
]


@pytest.mark.parametrize(("row", "told"), SLIPS, ids=[row for row, _ in SLIPS])
def test_a_slip_in_a_validated_program_is_told_with_its_line(tmp_path, row, told):
    (tmp_path / "programs.csv").write_text(f"{HEADER}{row}\n", encoding="utf-8")
    faults = Faults()
    assert read_validated(tmp_path, {"S-1"}, set(KINDS), faults) == ()
    assert len(faults.sentences) == 1
    assert faults.sentences[0].startswith("programs.csv line 2: ")
    assert told in faults.sentences[0]


def test_validated_programs_come_by_unit_program_and_day_and_blanks_are_no_limit(tmp_path):
    text = f"{HEADER}S-1,pouch,2026-03-02,134,137,200,600,b\nS-1,pouch,2025-03-02,134,,210,,a\n"
    (tmp_path / "programs.csv").write_text(text, encoding="utf-8")
    faults = Faults()
    first, second = read_validated(tmp_path, {"S-1"}, set(KINDS), faults)
    assert faults.sentences == []
    assert (first.from_on, first.high_celsius, first.drying_seconds) == (
        date(2025, 3, 2),
        None,
        None,
    )
    assert (second.from_on, second.high_celsius, second.drying_seconds) == (
        date(2026, 3, 2),
        137,
        600,
    )


def test_one_program_of_a_unit_twice_from_one_day_and_a_missing_column_are_told(tmp_path):
    row = "S-1,pouch,2026-03-02,134,137,200,600,b\n"
    (tmp_path / "programs.csv").write_text(HEADER + row + row, encoding="utf-8")
    faults = Faults()
    read_validated(tmp_path, {"S-1"}, set(KINDS), faults)
    assert "pouch of S-1 from 2026-03-02 twice" in faults.sentences[0]
    (tmp_path / "programs.csv").write_text("unit_serial,program\n", encoding="utf-8")
    network = SimpleNamespace(folder=tmp_path, assignments=())
    with pytest.raises(ConfigurationError, match="has no column from_on, low_celsius"):
        load_programs(network, {})


def test_a_network_without_the_file_has_no_validated_programs(tmp_path):
    faults = Faults()
    assert read_validated(tmp_path, set(), set(KINDS), faults) == ()
    assert faults.sentences == []


def test_every_profile_that_sites_may_follow_has_a_table_but_for_one():
    """For Ontario no table was found: its cycles are judged by validated programs alone."""
    profiles = {name: one for name, one in all_profiles().items() if one.is_for_sites}
    found = load_programs(NOWHERE, {name: one.parents for name, one in profiles.items()})
    assert profiles.keys() - found.by_practice.keys() == {"canada-ontario"}
    followed = {name: found.by_practice[name].name for name in ("germany", "us-ohio-medical")}
    assert followed == {"germany": "eu", "us-ohio-medical": "us"}
