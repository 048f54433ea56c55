"""What a right declaration becomes, and what is said of each wrong one."""

from datetime import date

import pytest

from pipeline.base.errors import ConfigurationError, Exit
from pipeline.config.load import load_network


def faults_of(folder) -> str:
    with pytest.raises(ConfigurationError) as caught:
        load_network(folder)
    assert caught.value.exit_code == Exit.CONFIGURATION
    return str(caught.value)


def test_a_right_declaration_becomes_frozen_objects(folder):
    network = load_network(folder)
    assert network.name == "Saltmarsh Isles Clinics"
    assert network.is_invented
    assert network.sites["umber-bay"].altitude_m == 120
    assert [(a.unit_serial, a.site_id, a.to_on) for a in network.assignments] == [
        ("SI-0001", "gannet-quay", date(2026, 3, 1)),
        ("SI-0001", "umber-bay", None),
        ("SI-0002", "umber-bay", None),
    ]
    columns = {column.target: column for column in network.feeds[0].columns}
    assert columns["unit_serial"].source == "Unit"
    assert columns["hold_max_kpa"].unit == "psi"
    assert columns["hold_max_kpa"].is_gauge
    assert columns["outcome"].values == {"OK": "complete"}


def test_the_fingerprint_changes_with_a_declaration_and_not_with_the_folder(folder, spoil):
    before = load_network(folder).fingerprint
    assert load_network(folder).fingerprint == before
    assert load_network(spoil("sites.csv", ",120,", ",121,")).fingerprint != before


WRONG = [
    # file            what is there        what is written instead    what must be said
    ("sites.csv", "Europe/London,4", "Europe/Londn,4", 'Did you mean "Europe/London"?'),
    ("sites.csv", ",120,", ",high,", 'altitude_m is "high"'),
    ("sites.csv", ",120,", ",9000,", 'altitude_m is "9000"'),
    ("sites.csv", "2021-05-01", "1 May 2021", 'opened_on is "1 May 2021"'),
    ("sites.csv", "umber-bay,U", "../umber,U", "use a-z, 0-9 and dashes"),
    ("sites.csv", "umber-bay,U", "gannet-quay,U", 'site "gannet-quay" is there twice'),
    ("sites.csv", "altitude_m", "height", "has no column altitude_m"),
    ("sites.csv", "Outer Banks", "", "line 2: nothing in region"),
    ("units.csv", "SI-0002,umber-bay", "SI-0002,umber", 'Did you mean "umber-bay"?'),
    ("units.csv", "gravity", "gravty", 'Did you mean "gravity"?'),
    ("units.csv", "2026-03-01,\n", "2026-02-01,\n", "at gannet-quay until 2026-03-01"),
    ("units.csv", "2020-01-01,2026-03-01", "2026-03-01,2026-03-01", "is not after from_on"),
    ("network.toml", '["gannet-quay",', '["gannet-key",', 'names the site "gannet-key"'),
    ("network.toml", 'kind = "cycle"', 'kind = "cycles"', 'Did you mean "cycle"?'),
    ("network.toml", '"delimited"', '"csv"', 'format kind "csv"'),
    ("network.toml", 'separator = ";"', 'seperator = ";"', 'Did you mean "separator"?'),
    ("network.toml", 'separator = ";"', 'separator = ";;"', "write one character"),
    ("network.toml", 'decimal = ","', 'encoding = "latin-99"', "not a known encoding"),
    ("network.toml", 'unit = "psi"', 'unit = "psii"', 'Did you mean "psi"?'),
    ("network.toml", 'cycle_number = "No"', 'cycle_nummer = "No"', 'Did you mean "cycle_number"?'),
    ("network.toml", 'cycle_number = "No"', "", "maps no column to cycle_number"),
    ("network.toml", "{site}/*", "*", "put {site} into it"),
    ("network.toml", "gauge = true", 'otherwise = "drop"', 'otherwise is "drop"'),
    ("network.toml", "[group]", "[groop]", 'Did you mean "group"?'),
    ("network.toml", "[group]", "[group", "is not TOML"),
    ("network.toml", "[[feed]]", "[feed]", "begin each feed with [[feed]]"),
    ("network.toml", '["gannet-quay", "umber-bay"]', "7", 'write "all" or a list of site ids'),
    ("network.toml", '{ "OK" = "complete" }', '"OK"', "values = { ... }"),
    ("network.toml", 'cycle_number = "No"', "cycle_number = 7", "column cycle_number: is 7"),
]


@pytest.mark.parametrize(("name", "old", "new", "said"), WRONG, ids=[row[3] for row in WRONG])
def test_a_wrong_declaration_is_told_with_where_and_what_to_do(spoil, name, old, new, said):
    message = faults_of(spoil(name, old, new))
    assert said in message
    assert name in message


@pytest.mark.parametrize("name", ["network.toml", "sites.csv", "units.csv"])
def test_a_missing_file_is_told(folder, name):
    (folder / name).unlink()
    assert f"{name}: not found" in faults_of(folder)


def test_every_fault_is_told_at_once(folder, spoil):
    spoil("sites.csv", ",120,", ",high,")
    spoil("units.csv", "gravity", "gravty")
    message = faults_of(spoil("network.toml", "psi", "psii"))
    assert len(message.splitlines()) == 3


def test_two_feeds_of_one_name_are_told(folder):
    path = folder / "network.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + text[text.index("[[feed]]") :], encoding="utf-8")
    assert 'two feeds have the name "cycles"' in faults_of(folder)


def test_a_register_in_another_encoding_is_told_and_not_guessed(folder):
    (folder / "sites.csv").write_bytes("site_id,näme".encode("cp1252"))
    assert "save it as such" in faults_of(folder)
