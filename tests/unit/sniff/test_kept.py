"""What people keep is added to, never written over."""

import csv

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.sniff.kept import add_feed, add_site, add_units, fresh_name, likely_location

FEED = '[[feed]]\nname = "new"\n'


def test_a_feed_goes_to_the_end_and_every_comment_stays(tmp_path):
    before = b'# ours\r\n[group]\nname = "N"  # why\n[[feed]]\nname = "old" # last line, no end'
    (tmp_path / "network.toml").write_bytes(before)
    add_feed(tmp_path, "new", FEED)
    assert (tmp_path / "network.toml").read_bytes() == before + b"\n\n" + FEED.encode()


@pytest.mark.parametrize(
    "before",
    [
        b'[group]\nname = "N"\n[[feed]]\nname = "new"\n',  # the name is taken
        b"[group\n",  # no TOML
        b"feed = []\n",  # cannot be added to
    ],
)
def test_what_cannot_be_added_to_is_left_alone(tmp_path, before):
    (tmp_path / "network.toml").write_bytes(before)
    with pytest.raises(ConfigurationError, match="othing was written"):
        add_feed(tmp_path, "new", FEED)
    assert (tmp_path / "network.toml").read_bytes() == before


def test_registers_are_made_with_what_is_known_and_the_rest_left_empty(tmp_path):
    add_site(tmp_path, "north")
    add_units(tmp_path, "north", ["A-1", "A-2"])
    assert (tmp_path / "sites.csv").read_text().splitlines()[1] == "north,,,,,weekly,,,"
    assert (tmp_path / "units.csv").read_text().splitlines()[1:] == [
        "A-1,north,,,,",
        "A-2,north,,,,",
    ]


def test_rows_follow_the_order_of_a_registers_own_header_and_are_added_once(tmp_path):
    path = tmp_path / "units.csv"
    path.write_bytes(b"\xef\xbb\xbflabel,unit_serial,site_id\nRoom 1,A-1,north")
    add_units(tmp_path, "north", ["A-1", "A-2"])
    add_units(tmp_path, "north", ["A-2"])
    assert path.read_bytes() == (
        b"\xef\xbb\xbflabel,unit_serial,site_id\nRoom 1,A-1,north\n,A-2,north\n"
    )


def test_a_serial_that_a_spreadsheet_would_run_is_not_written(tmp_path):
    add_units(tmp_path, "north", ["=1+1", "@x", "-2", "A-1"])
    with (tmp_path / "units.csv").open() as stream:
        assert [row["unit_serial"] for row in csv.DictReader(stream)] == ["A-1"]


@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("cycles-2026-05", "cycles"),
        ("Protokoll Mai 2026", "protokoll-mai"),
        ("2026-05", "logs"),
        ("Ünit Log", "nit-log"),
    ],
)
def test_a_feed_is_named_after_its_file_without_the_date(file, name):
    assert fresh_name(file) == name


def test_a_location_is_beside_the_file_with_the_site_and_the_date_left_open(tmp_path):
    inside = tmp_path / "logs" / "north" / "cycles-2026-05.csv"
    assert likely_location(inside, tmp_path, "north") == "logs/{site}/cycles-*.csv"
    packed = tmp_path / "logs" / "north" / "cycles-2026-05.csv.gz"
    assert likely_location(packed, tmp_path, "north") == "logs/{site}/cycles-*.csv.gz"
    outside = tmp_path.parent / "runs_1.jsonl"
    assert likely_location(outside, tmp_path, "north") == "logs/{site}/runs_*.jsonl"
