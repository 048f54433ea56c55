from dataclasses import replace
from datetime import date, datetime

import pytest

from pipeline.base.errors import BalanceError, HoldtimeError
from pipeline.base.files import sha256
from pipeline.config.network import Network, Site
from pipeline.stage import rules
from pipeline.stage.balance import Tally
from pipeline.stage.parts import Account
from pipeline.stage.stage import forget_files, stage_files
from pipeline.warehouse.ledger import LandedFile

MAY, JUNE = "2026-05-31 23:00", "2026-06-01 01:00"
TASKS = {"unit_serial": "Unit", "counter": "No", "done_on": "Done"}
TEXT = b"Unit,No,Done\nSN-1,1,2026-05-01\nSN-2,x,2026-05-02\n"


@pytest.fixture
def feed(make_feed):
    return make_feed("task", {}, TASKS)


def test_a_file_is_forgotten_whole_and_may_then_be_staged_again(stage, feed, con):
    first = stage(feed, TEXT)
    before = (first.rows("task", "*"), first.held, first.counts)
    forget_files(con, list(first.summary.file_ids))
    for table in ("task", "held", "file"):
        assert con.execute(f"SELECT file_id FROM stage.{table}").fetchall() == []
    second = stage(feed, TEXT)
    assert (second.rows("task", "*"), second.held, second.counts) == before


def test_a_file_row_says_where_the_bytes_came_from(stage, feed, con):
    result = stage(feed, TEXT)
    columns = "file_id, feed, kind, site_id, path, content_sha, modified_utc, state"
    assert con.execute(f"SELECT {columns} FROM stage.file").fetchall() == [
        (
            result.summary.file_ids[0],
            "feed",
            "task",
            "quay",
            "logs/0",
            sha256(TEXT),
            datetime(2026, 10, 1, 6, 30),
            "read",
        )
    ]


def test_what_the_network_does_not_declare_is_left_out(con, tmp_path, feed):
    network = Network(tmp_path, "x", True, {}, (), (feed,), tmp_path / "s", tmp_path / "p", "f")
    gone = LandedFile("1", "other", "quay", "logs/0", "0" * 64, datetime(2026, 1, 1))
    assert stage_files(con, network, [gone, replace(gone, feed="feed")]).file_ids == ()


def test_a_damaged_landed_file_stops_the_run(stage, feed, tmp_path):
    stage(feed, TEXT)
    (path,) = (path for path in (tmp_path / "s").rglob("*") if path.is_file())
    path.write_bytes(TEXT[:-1])
    site = Site("quay", "Quay", "Outer", "UTC", 0.0, "x", date(2020, 1, 1))
    network = Network(
        tmp_path, "x", True, {"quay": site}, (), (feed,), tmp_path / "s", tmp_path / "p", "f"
    )
    file = LandedFile("1", "feed", "quay", "logs/0", sha256(TEXT), datetime(2026, 1, 1))
    with pytest.raises(HoldtimeError, match="the landed copy of logs/0 is gone or damaged"):
        stage_files(None, network, [file])


@pytest.mark.parametrize(
    ("kind", "columns", "row", "month"),
    [
        ("cycle", {"started": "a", "ended": "b"}, f"{MAY},{JUNE}", "2026-05-01"),
        ("cycle", {"ended": "b"}, f",{JUNE}", None),
        ("reading", {"started": "a", "instant": "b"}, f"{MAY},{JUNE}", "2026-05-01"),
        ("reading", {"instant": "b"}, f",{JUNE}", "2026-06-01"),
        ("test", {"exposed": "a", "read": "b"}, f"{MAY},{JUNE}", "2026-05-01"),
        ("test", {"exposed": "a", "read": "b"}, f",{JUNE}", "2026-06-01"),
        ("task", {"done_on": "a"}, f"{MAY},", "2026-05-01"),
        ("task", {"done_on": "a"}, ",x", None),
        ("closure", {"from_on": "a", "to_on": "b"}, f"{MAY},{JUNE}", "2026-05-01"),
        ("follow_up", {"done_on": "a"}, f"{MAY},", "2026-05-01"),
    ],
)
def test_a_row_belongs_to_the_month_of_its_first_time(stage, make_feed, kind, columns, row, month):
    result = stage(make_feed(kind, {}, columns), f"a,b\n{row}\n".encode())
    assert result.rows(kind, "month") == [(date.fromisoformat(month) if month else None,)]


def test_a_line_too_few_is_a_defect_that_stops_the_run():
    tally = Tally()
    tally.add_accounts({0: Account(10, 2, 8)})
    with pytest.raises(BalanceError, match="logs/0: 10 lines, of which 2 layout and 8 records; 0"):
        tally.check(["logs/0"])
    tally = Tally()
    tally.add_accounts({0: Account(10, 10, 1)})
    with pytest.raises(BalanceError):
        tally.check(["logs/0"])


def test_rules_are_numbered_once_each_and_speak_in_sentences():
    declared = [one for one in vars(rules).values() if isinstance(one, rules.Rule)]
    assert list(rules.RULES) == declared
    assert [one.rule_id for one in declared] == [f"STG-{i + 1:02}" for i in range(len(declared))]
    for one in declared:
        assert one.what.endswith(".")
        assert one.do.endswith(".")
