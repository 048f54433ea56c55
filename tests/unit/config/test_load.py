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
    ("network.toml", '"Unit"', '{ from = ["Unit", "No"] }', "a day and its time of day"),
    ("network.toml", '"Unit"', "{ from = 7 }", "reads from 7; write from ="),
    ("network.toml", '"Unit"', "{ from = [] }", "reads from []; write from ="),
    ("network.toml", 'kind = "delimited"', 'kind = "CSV"', 'Write "delimited".'),
    ("network.toml", 'separator = ";"', 'skip = "(?=x)"', "write one that does not"),
    (
        "network.toml",
        'kind = "delimited"',
        'kind = "fixed"',
        "needs the setting columns or pattern",
    ),
    ("network.toml", "format = {", 'format = "semicolon" #', "there is no [format.semicolon]"),
    (
        "network.toml",
        "%d.%m.%Y %H:%M",
        "dd.MM.yyyy hh:mm",
        'write "%d.%m.%Y %H:%M", or one of: iso',
    ),
    ("network.toml", "%d.%m.%Y %H:%M", "%H:%M", "holds no day; only ended may do without"),
    ("network.toml", "%d.%m.%Y %H:%M", "%d.%m.%Y %I:%M", "hours up to 12 need %p"),
    ("network.toml", "[group]", "[privacy]\noperator = 'hide'\n[group]", "keep, pseudonym or drop"),
    ("network.toml", "[group]", "[privacy]\nheld_days = -1\n[group]", "such as 90"),
    ("network.toml", "[group]", "[privacy]\nkey_file = 'k'\n[group]", "put 32 random bytes"),
    ("network.toml", "[group]", "[format]\na = 7\n[group]", 'format "a": has no format'),
    ("network.toml", '["gannet-quay", "umber-bay"]', "7", 'write "all" or a list of site ids'),
    ("network.toml", '{ "OK" = "complete" }', '"OK"', "values = { ... }"),
    ("network.toml", 'cycle_number = "No"', "cycle_number = 7", "column cycle_number: is 7"),
]


@pytest.mark.parametrize(("name", "old", "new", "said"), WRONG, ids=[row[3] for row in WRONG])
def test_a_wrong_declaration_is_told_with_where_and_what_to_do(spoil, name, old, new, said):
    message = faults_of(spoil(name, old, new))
    assert said in message
    assert name in message


FIXED = (
    '{ kind = "fixed", columns = { Unit = [1, 5], No = [6, 9], Program = [10, 12], '
    "Start = [13, 28], Result = [29, 30] } }"
)


def test_a_feed_can_ask_a_fixed_format_only_for_columns_that_it_has(spoil):
    own = '{ kind = "delimited", separator = ";", decimal = "," }'
    assert faults_of(spoil("network.toml", own, FIXED)) == (
        'network.toml: feed "cycles": reads "Pmax", which its format has not. '
        "Known: No, Program, Result, Start, Unit."
    )


def test_a_shared_format_serves_many_feeds_and_may_be_changed_in_one(spoil):
    own = 'format = { kind = "delimited", separator = ";", decimal = "," }'
    shared = '[format.old]\nkind = "delimited"\nseparator = ";"\ndecimal = ","\n[group]'
    before = load_network(spoil("network.toml", "[group]", shared)).feeds[0].format
    assert load_network(spoil("network.toml", own, 'format = "old"')).feeds[0].format == before
    changed = spoil("network.toml", '"old"', '{ use = "old", encoding = "cp1252" }')
    settings = load_network(changed).feeds[0].format.settings
    assert settings == before.settings | {"encoding": "cp1252"}


def test_what_is_wrong_with_a_shared_format_is_told_once(spoil):
    shared = '[format.old]\nkind = "delimited"\nseparator = ";;"\n[group]'
    spoil("network.toml", "[group]", shared)
    message = faults_of(spoil("network.toml", "format = {", 'format = "old" #'))
    assert len(message.splitlines()) == 1
    assert 'network.toml: format "old": format setting separator is' in message


def test_a_barometer_is_optional_and_in_kpa(folder, spoil):
    spoil("sites.csv", "closed_on,owner", "closed_on,owner,barometer_kpa")
    spoil("sites.csv", ",J. Fenn", ",J. Fenn,100.9")
    sites = load_network(spoil("sites.csv", "2021-05-01,,", "2021-05-01,,,")).sites
    assert (sites["gannet-quay"].barometer_kpa, sites["umber-bay"].barometer_kpa) == (100.9, None)
    assert "write kPa, such as 100.9" in faults_of(spoil("sites.csv", "100.9", "1009"))


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
