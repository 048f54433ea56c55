"""The folder as a whole: the same for the same arguments, and what a group would have."""

import hashlib
import json
from datetime import UTC, date, datetime

import pytest

from pipeline.base.errors import HoldtimeError
from pipeline.config.load import load_network
from pipeline.demo.network import write_network

ENDS_ON = date(2026, 10, 31)


def contents(folder):
    """Every file with its bytes and its time of change."""
    return {
        path.relative_to(folder).as_posix(): (
            hashlib.sha256(path.read_bytes()).hexdigest(),
            path.stat().st_mtime_ns,
        )
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_the_same_arguments_give_the_same_bytes_and_file_times(tmp_path):
    for name in ("one", "two"):
        write_network(tmp_path / name, site_count=3, month_count=2, ends_on=ENDS_ON)
    first, second = contents(tmp_path / "one"), contents(tmp_path / "two")
    assert any(name.endswith(".xlsx") for name in first)
    assert first == second


def test_writing_again_into_the_same_folder_changes_nothing(tmp_path):
    write_network(tmp_path, site_count=2, month_count=1, ends_on=ENDS_ON)
    before = contents(tmp_path)
    (tmp_path / "logs" / "gannet-quay" / "left-over.csv").write_text("of another day")
    write_network(tmp_path, site_count=2, month_count=1, ends_on=ENDS_ON)
    assert contents(tmp_path) == before


def test_another_seed_gives_other_logs(tmp_path):
    write_network(tmp_path / "one", site_count=1, month_count=1, ends_on=ENDS_ON)
    write_network(tmp_path / "two", site_count=1, month_count=1, ends_on=ENDS_ON, seed=7)
    name = "logs/gannet-quay/cycles-2026-10.csv"
    assert (tmp_path / "one" / name).read_bytes() != (tmp_path / "two" / name).read_bytes()


def test_further_sites_change_nothing_of_the_first(tmp_path):
    write_network(tmp_path / "two", site_count=2, month_count=2, ends_on=ENDS_ON)
    write_network(tmp_path / "five", site_count=5, month_count=2, ends_on=ENDS_ON)
    smaller, larger = contents(tmp_path / "two" / "logs"), contents(tmp_path / "five" / "logs")
    assert len(smaller) > 15
    assert {name: larger[name] for name in smaller} == smaller


def test_the_declarations_agree_with_themselves(whole_block):
    folder, demo = whole_block
    network = load_network(folder)
    assert network.is_invented
    assert len(network.sites) == demo.site_count == 24
    assert len({site.region for site in network.sites.values()}) == 4
    in_service = [
        one.unit_serial
        for one in network.assignments
        if one.from_on <= ENDS_ON and (one.to_on is None or one.to_on > ENDS_ON)
    ]
    assert len(in_service) == len(set(in_service)) == 72


def test_each_feed_finds_files_at_each_of_its_sites(whole_block):
    folder, _ = whole_block
    network = load_network(folder)
    shapes = {feed.format.kind for feed in network.feeds if feed.kind == "cycle"}
    assert shapes == {"delimited", "spreadsheet", "jsonlines", "printout"}
    assert {feed.format.settings.get("separator") for feed in network.feeds} >= {",", ";"}
    for feed in network.feeds:
        empty = [
            site_id
            for site_id in feed.site_ids
            if not list(folder.glob(feed.location.replace("{site}", site_id)))
        ]
        # A small site may have had no cycle among those that readings are kept of.
        assert feed.kind == "reading" or not empty, (feed.name, empty)


def test_every_log_belongs_to_exactly_one_feed(few_sites):
    folder, _ = few_sites
    network = load_network(folder)
    claimed = [
        path
        for feed in network.feeds
        for site_id in feed.site_ids
        for path in folder.glob(feed.location.replace("{site}", site_id))
    ]
    logs = [path for path in (folder / "logs").rglob("*") if path.is_file()]
    assert sorted(claimed) == sorted(logs)


def test_the_truth_says_that_no_step_reads_it_and_no_feed_does(few_sites):
    folder, demo = few_sites
    truth = json.loads((folder / "truth" / "truth.json").read_text(encoding="utf-8"))
    assert "no step of the pipeline reads" in truth["note"]
    assert len(truth["units"]) == demo.unit_count
    assert all(feed.location.startswith("logs/") for feed in load_network(folder).feeds)


def test_nothing_was_sent_after_the_morning_that_follows_the_last_day(few_sites):
    folder, _ = few_sites
    newest = max(path.stat().st_mtime for path in folder.rglob("*") if path.is_file())
    assert datetime.fromtimestamp(newest, UTC) < datetime(2026, 11, 1, 9, tzinfo=UTC)


def test_the_number_of_cycles_is_that_of_120_000_in_18_months(whole_block):
    _, demo = whole_block
    assert demo.cycle_count == pytest.approx(120_000 * 3 / 18, rel=0.15)


def test_a_folder_of_a_real_network_is_left_alone(tmp_path):
    (tmp_path / "network.toml").write_text('[group]\nname = "A real group"\n')
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / "real.csv").write_text("1")
    with pytest.raises(HoldtimeError, match="not the demo's"):
        write_network(tmp_path, site_count=1, month_count=1)
    assert (tmp_path / "logs" / "real.csv").read_text() == "1"


def test_a_folder_of_another_demo_is_left_alone(tmp_path):
    write_network(tmp_path, site_count=1, month_count=1, ends_on=ENDS_ON)
    before = contents(tmp_path)
    with pytest.raises(HoldtimeError, match="other arguments"):
        write_network(tmp_path, site_count=1, month_count=1, ends_on=ENDS_ON, seed=1)
    assert contents(tmp_path) == before
