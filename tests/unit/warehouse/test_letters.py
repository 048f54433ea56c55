"""What the ledger says of letters that were sent: figures that the next may have to take back."""

import json
from datetime import datetime

import pytest

from pipeline.base.letter import SentMonth
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.ledger import create_ledger, file_id
from pipeline.warehouse.letters import (
    LetterRow,
    add_letter,
    last_said,
    letter_id,
    mark_answer,
    mark_sending,
    told_findings,
)

OCTOBER, NOVEMBER = datetime(2026, 10, 5), datetime(2026, 11, 9)
NETWORK = ("network", "network")


@pytest.fixture
def ledger():
    with open_memory() as con:
        create_ledger(con)
        yield con


def add(con, period: str, written_utc: datetime, figures, state: str = "sent", who: str = "a"):
    key = letter_id("monthly", period, *NETWORK, who)
    row = LetterRow(
        key, "monthly", period, *NETWORK, who, f"<{key}>", "", json.dumps(figures), "ready", 0,
        False, None, written_utc, None, None,
    )  # fmt: skip
    add_letter(con, row, told=(f"finding-{period}",))
    mark_sending(con, row, written_utc)
    mark_answer(con, row, state, "250", written_utc)


def deliver(con, sha: str, *seen: datetime) -> str:
    for place, seen_utc in enumerate(seen):
        con.execute(
            "INSERT INTO main.delivery VALUES ('cycles', 'quay', ?, ?, ?, 1, ?)",
            [f"{place}.csv", sha, datetime(2026, 9, 30), seen_utc],
        )
    return file_id("cycles", "quay", sha)


AUGUST_SAID, SEPTEMBER_SAID = {"run": 10}, {"run": 20}
CORRECTED = {"run": 11}


def test_the_last_letter_that_was_sent_is_what_counts(ledger):
    add(ledger, "2026-08", datetime(2026, 9, 7), {"2026-08": AUGUST_SAID})
    add(ledger, "2026-09", OCTOBER, {"2026-08": CORRECTED, "2026-09": SEPTEMBER_SAID})
    (scope,) = last_said(ledger, "2026-10").items()
    assert scope == (
        NETWORK,
        (SentMonth("2026-08", CORRECTED), SentMonth("2026-09", SEPTEMBER_SAID)),
    )


def test_a_month_of_which_no_letter_was_sent_cannot_be_taken_back(ledger):
    add(ledger, "2026-09", OCTOBER, {"2026-08": AUGUST_SAID, "2026-09": SEPTEMBER_SAID})
    assert [one.month for one in last_said(ledger, "2026-10")[NETWORK]] == ["2026-09"]


@pytest.mark.parametrize("state", ["ready", "sending", "refused"])
def test_a_letter_that_nobody_got_said_nothing(ledger, state):
    add(ledger, "2026-09", OCTOBER, {"2026-09": SEPTEMBER_SAID}, state)
    assert last_said(ledger, "2026-10") == {}


def test_a_letter_is_not_held_to_itself_or_to_a_later_one(ledger):
    add(ledger, "2026-09", OCTOBER, {"2026-09": SEPTEMBER_SAID})
    assert last_said(ledger, "2026-09") == last_said(ledger, "2026-08") == {}


def test_files_first_seen_after_the_letter_was_written_are_late(ledger):
    add(ledger, "2026-09", OCTOBER, {"2026-09": SEPTEMBER_SAID})
    deliver(ledger, "in-time", OCTOBER)
    deliver(ledger, "again", datetime(2026, 10, 1), NOVEMBER)
    late = deliver(ledger, "late", NOVEMBER)
    (one,) = last_said(ledger, "2026-10")[NETWORK]
    assert one.late_file_ids == {late}


def test_what_a_reader_was_told_of_is_known_whatever_the_capitals(ledger):
    add(ledger, "2026-09", OCTOBER, {}, who="Lead@saltmarsh.example")
    assert told_findings(ledger, "lead@SALTMARSH.example") == {"finding-2026-09"}
    assert told_findings(ledger, "other@saltmarsh.example") == frozenset()


def test_a_letters_id_knows_kind_period_scope_and_reader_and_no_capitals():
    one = letter_id("monthly", "2026-10", "site", "quay", "A@b.example")
    assert one == letter_id("monthly", "2026-10", "site", "quay", "a@B.example")
    others = {
        letter_id(*changed)
        for changed in (
            ("watch", "2026-10", "site", "quay", "a@b.example"),
            ("monthly", "2026-11", "site", "quay", "a@b.example"),
            ("monthly", "2026-10", "region", "quay", "a@b.example"),
            ("monthly", "2026-10", "site", "bay", "a@b.example"),
            ("monthly", "2026-10", "site", "quay", "c@b.example"),
        )
    }
    assert len(others) == 5 and one not in others
