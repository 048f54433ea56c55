"""The message as a mail reader takes it apart: headers, both parts, attachments, and size."""

import email
import email.policy
import re
from dataclasses import replace
from datetime import datetime
from email.utils import parsedate_to_datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.base.letter import Letter
from pipeline.config.mail import Mail
from pipeline.config.recipients import Recipient
from pipeline.deliver.message import MOST_ATTACHED_BYTES, Attachment, build_message
from pipeline.deliver.transport import stuffed

MAIL = Mail(
    "Saltmarsh reports",
    "reports@saltmarsh.example",
    unsubscribe="stop@saltmarsh.example",
    list_id="holdtime.saltmarsh.example",
)
READER = Recipient("lead@saltmarsh.example", "group", "", "Pacific/Auckland", "J. Fenn")
KEY = "0123456789abcdef"


@pytest.fixture
def built(make_letter, now_utc):
    def made(reader=READER, mail=MAIL, attachments=(), **more):
        message = build_message(make_letter(**more), reader, mail, KEY, now_utc, attachments)
        data = message.as_bytes()
        return data, email.message_from_bytes(data, policy=email.policy.default)

    return made


def test_headers_say_who_what_when_and_that_no_machine_should_answer(built):
    _, read = built()
    assert read["From"] == "Saltmarsh reports <reports@saltmarsh.example>"
    assert read["To"] == '"J. Fenn" <lead@saltmarsh.example>'
    assert read["Subject"] == "October 2026, Saltmarsh Isles Clinics: 4 units need action"
    assert read["Message-ID"] == f"<2026-10.{KEY}@saltmarsh.example>"
    assert read["List-Id"] == "<holdtime.saltmarsh.example>"
    assert read["List-Unsubscribe"].strip() == (
        "<mailto:stop@saltmarsh.example?subject=Stop%20these%20letters>"
    )
    assert read["Auto-Submitted"] == "auto-generated"
    assert "List-Unsubscribe-Post" not in read


DATES = [
    # the reader's zone      what the letter is dated
    ("Pacific/Auckland", "Mon, 09 Nov 2026 19:30:00 +1300"),
    ("Europe/London", "Mon, 09 Nov 2026 06:30:00 +0000"),
    ("America/St_Johns", "Mon, 09 Nov 2026 03:00:00 -0330"),
]


@pytest.mark.parametrize(("zone", "dated"), DATES)
def test_the_date_is_by_the_readers_clock_and_the_same_instant(built, now_utc, zone, dated):
    _, read = built(replace(READER, time_zone=zone))
    assert read["Date"] == dated
    assert (
        parsedate_to_datetime(read["Date"]).timestamp()
        == (now_utc - datetime(1970, 1, 1)).total_seconds()
    )


def test_the_same_letter_to_the_same_reader_is_the_same_bytes(built):
    csv = Attachment("group.csv", b"a,b\r\n")
    assert built(attachments=(csv,))[0] == built(attachments=(csv,))[0]


def test_both_parts_are_there_text_first_and_seven_bits_are_enough(built, make_letter):
    text = "▲ Act now: Unit 2, 134 °C\n" + "long " * 400 + "\n.dot\nFrom the start\n"
    data, read = built(text=text, html=f"<p>{text}</p>\n")
    assert [part.get_content_type() for part in read.iter_parts()] == ["text/plain", "text/html"]
    assert read.get_body(("plain",)).get_content().replace("\r\n", "\n") == text
    html = read.get_body(("html",)).get_content().replace("\r\n", "\n")
    assert html == f"<p>{text}</p>\n"
    assert data.isascii()
    # Source: RFC 5322, 2.1.1: no line over 998, and none should be over 78.
    assert max(map(len, data.split(b"\r\n"))) <= 78
    assert b"\n" not in data.replace(b"\r\n", b"")


def test_a_reader_of_text_gets_text_alone(built):
    _, read = built(replace(READER, format="text"))
    assert read.get_content_type() == "text/plain"


def test_attachments_come_after_the_letter_under_their_names(built):
    _, read = built(attachments=(Attachment("group.csv", b"\xef\xbb\xbfa,b\r\n"),))
    (one,) = read.iter_attachments()
    assert (one.get_filename(), one.get_content_type()) == ("group.csv", "text/csv")
    assert one.get_payload(decode=True) == b"\xef\xbb\xbfa,b\r\n"
    assert "4 units" in read.get_body(("html", "plain")).get_content()


def test_what_is_too_big_stays_at_home_and_the_rest_goes(built):
    big = Attachment("big.csv", b"x" * (MOST_ATTACHED_BYTES + 1))
    small = Attachment("small.csv", b"x")
    data, read = built(attachments=(small, big))
    assert [one.get_filename() for one in read.iter_attachments()] == ["small.csv"]


HOSTILE = [
    # what a name might be, as it comes to a header
    "October\r\nBcc: everybody@else.example",
    "October\nX: y",
]


@pytest.mark.parametrize("subject", HOSTILE)
def test_a_subject_cannot_begin_another_header(built, subject):
    with pytest.raises(ValueError, match="linefeed"):
        built(subject=subject)


ODD_SUBJECTS = [
    "October 2026, Gærd’s Ö Clinics – ▲ 4 units need action " * 3,
    "long " * 60 + "y" * 300,
    'October 2026, "Quoted" <Isles>; Clinics: 4 units, 2 tests',
]


@pytest.mark.parametrize("subject", ODD_SUBJECTS)
def test_any_subject_is_read_back_as_it_was(built, subject):
    data, read = built(subject=subject)
    assert str(read["Subject"]).strip() == subject.strip()
    assert max(map(len, data.split(b"\r\n"))) <= 998


def test_a_subject_that_looks_encoded_begins_no_header_either(built):
    data, read = built(subject="=?utf-8?q?x=0D=0ABcc=3A_everybody@else.example?= y")
    assert read["Bcc"] is None
    assert not re.search(rb"(?mi)^bcc:", data)


@pytest.mark.parametrize("length", [10, 60, 180])
def test_the_message_id_is_whole_however_long_the_domain(built, length):
    domain = ("a" * 30 + ".") * (length // 31) + "b" * (length % 31 or 1) + ".example"
    data, read = built(mail=replace(MAIL, sender_address=f"reports@{domain}"))
    assert read["Message-ID"].strip() == f"<2026-10.{KEY}@{domain}>"
    assert f"<2026-10.{KEY}@{domain}>".encode() in data


LINE_ENDS = "\r\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029"
"""Signs at which Python breaks lines too; letters have none but the line feed."""


@given(st.text(st.characters(codec="utf-8", exclude_characters=LINE_ENDS), max_size=400))
def test_any_text_travels_whole_in_seven_bits(text):
    letter = Letter("group", "network", "network", "2026-10", "News", text + "\n", "<p></p>\n")
    data = build_message(letter, READER, MAIL, KEY, datetime(2026, 11, 9, 6, 30)).as_bytes()
    sent = stuffed(data)
    assert data.isascii() and sent.endswith(b"\r\n.\r\n")
    # What a server does with it. Source: RFC 5321, 4.5.2.
    lines = [line.removeprefix(b".") for line in sent.removesuffix(b".\r\n").split(b"\r\n")]
    read = email.message_from_bytes(b"\r\n".join(lines), policy=email.policy.default)
    assert read.get_body(("plain",)).get_content().replace("\r\n", "\n") == text + "\n"
