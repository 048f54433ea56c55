"""Notices of delivery, as servers write them: a published one, and what is none."""

import mailbox
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.deliver.bounces import Notice, notices, read_bounces

# Source: RFC 3464, appendix E, first example (a simple notice of failure); shortened to what is
# read, with the envelope's id and the headers sent back made ours.
SIMPLE = b"""\
Date: Thu, 7 Jul 1994 17:16:05 -0400
From: Mail Delivery Subsystem <MAILER-DAEMON@CS.UTK.EDU>
Message-Id: <199407072116.RAA14128@CS.UTK.EDU>
Subject: Returned mail: Cannot send message for 5 days
To: <reports@saltmarsh.example>
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status;
      boundary="RAA14128.773615765/CS.UTK.EDU"

--RAA14128.773615765/CS.UTK.EDU

The original message was received at Sat, 2 Jul 1994 17:10:28 -0400

--RAA14128.773615765/CS.UTK.EDU
content-type: message/delivery-status

Reporting-MTA: dns; cs.utk.edu

Original-Recipient: rfc822;louisl@larry.slip.umd.edu
Final-Recipient: rfc822;louisl@larry.slip.umd.edu
Action: failed
Status: 4.0.0
Diagnostic-Code: smtp; 426 connection timed out
Last-Attempt-Date: Thu, 7 Jul 1994 17:15:49 -0400

--RAA14128.773615765/CS.UTK.EDU
content-type: message/rfc822

Message-ID: <2026-10.0123456789abcdef@saltmarsh.example>
From: reports@saltmarsh.example

--RAA14128.773615765/CS.UTK.EDU--
"""
EXPECTED = Notice(
    "0123456789abcdef",
    "louisl@larry.slip.umd.edu",
    "failed",
    "4.0.0",
    "smtp; 426 connection timed out",
)


def test_the_published_notice_is_read():
    assert notices(SIMPLE) == [EXPECTED]


def test_the_envelopes_id_is_believed_before_the_headers():
    told = SIMPLE.replace(
        b"Reporting-MTA:", b"Original-Envelope-Id: fedcba9876543210\nReporting-MTA:"
    )
    assert notices(told)[0].letter_id == "fedcba9876543210"


def test_a_notice_that_does_not_say_which_letter_is_kept_without_one():
    (one,) = notices(SIMPLE.replace(b"<2026-10.0123456789abcdef@saltmarsh.example>", b"<x@y>"))
    assert one.letter_id is None and one.recipient == EXPECTED.recipient


def test_each_reader_of_a_notice_is_one_row():
    second = b"Final-Recipient: rfc822;arathib@vnet.example\nAction: delayed\nStatus: 4.4.1\n\n"
    told = SIMPLE.replace(b"Original-Recipient:", second + b"Original-Recipient:")
    assert [(one.recipient, one.action) for one in notices(told)] == [
        ("arathib@vnet.example", "delayed"),
        ("louisl@larry.slip.umd.edu", "failed"),
    ]


NO_NOTICES = [
    b"",
    b"From: a@b.example\nSubject: I am away\n\nBack on Monday.\n",
    SIMPLE.replace(b"Action: failed", b"Action: exploded"),
    SIMPLE.replace(b"message/delivery-status", b"text/plain"),
    b"\xff\x00\xfe" * 50,
    SIMPLE[:560],
]


@pytest.mark.parametrize("data", NO_NOTICES, ids=range(len(NO_NOTICES)))
def test_what_is_no_notice_is_left_alone(data):
    assert notices(data) == []


@given(st.binary(max_size=2000), st.integers(0, len(SIMPLE)), st.integers(0, 60))
def test_no_bytes_trip_the_reader_up(junk, place, cut):
    """Nobody knows what lands in such a folder: junk alone, and junk within a notice."""
    assert isinstance(notices(junk), list)
    for one in notices(SIMPLE[:place] + junk + SIMPLE[place + cut :]):
        assert one.action in {"failed", "delayed", "delivered", "relayed", "expanded"}
        assert one.recipient and (one.recipient + one.status + one.diagnostic).isprintable()


def test_a_folder_may_hold_files_a_maildir_and_mailboxes_and_is_read_once(
    ledger, tmp_path: Path, now_utc
):
    (tmp_path / "one.eml").write_bytes(SIMPLE)
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "1").write_bytes(SIMPLE.replace(b"failed", b"delayed"))
    box = mailbox.mbox(tmp_path / "box")
    box.add(SIMPLE.replace(b"4.0.0", b"5.1.1"))
    box.add(b"Subject: away\n\nBack soon.\n")
    box.close()
    assert read_bounces(ledger, tmp_path, now_utc) == 3
    assert read_bounces(ledger, tmp_path, now_utc) == 0
    rows = ledger.execute("SELECT action, status FROM main.bounce ORDER BY ALL").fetchall()
    assert rows == [("delayed", "4.0.0"), ("failed", "4.0.0"), ("failed", "5.1.1")]
