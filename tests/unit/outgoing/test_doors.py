"""Who may be written to now, and through which door."""

from dataclasses import replace
from datetime import datetime, time
from pathlib import Path

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.config.mail import Mail, Secret
from pipeline.config.network import Network
from pipeline.config.recipients import Recipient
from pipeline.deliver.folder import FolderDoor
from pipeline.deliver.transport import SmtpDoor
from pipeline.outgoing.doors import MayGo, declared_mail, door_of, is_held, is_quiet
from pipeline.warehouse.letters import LetterRow

NOW_UTC = datetime(2026, 11, 9, 6, 30)
MAIL = Mail("Reports", "r@saltmarsh.example", "smtp.saltmarsh.example", 587)
READER = Recipient("lead@saltmarsh.example", "group", "", "Europe/London")
NETWORK = Network(
    Path("x"), "Saltmarsh", True, {}, (), (), Path("x"), Path("x"), "f", mail=MAIL,
    recipients=(READER,),
)  # fmt: skip


def row(kind: str = "monthly", recipient: str = READER.address) -> LetterRow:
    return LetterRow(
        "id", kind, "2026-10", "network", "network", recipient, "<id>", "", "{}", "ready", 0,
        False, None, NOW_UTC, None, None,
    )  # fmt: skip


QUIET = [
    # hours that are quiet      clock of the reader   quiet
    ((time(20), time(7)), "19:59", False),
    ((time(20), time(7)), "20:00", True),
    ((time(20), time(7)), "00:00", True),
    ((time(20), time(7)), "06:59", True),
    ((time(20), time(7)), "07:00", False),
    ((time(12), time(14)), "11:59", False),
    ((time(12), time(14)), "12:00", True),
    ((time(12), time(14)), "14:00", False),
    ((time(9), time(9)), "09:00", False),
    (None, "03:00", False),
]


@pytest.mark.parametrize(("hours", "clock", "quiet"), QUIET)
def test_quiet_hours_run_from_the_first_up_to_the_second(hours, clock, quiet):
    now_utc = datetime.fromisoformat(f"2026-11-09T{clock}:00")
    assert is_quiet(replace(READER, quiet=hours), now_utc) == quiet


def test_quiet_hours_are_by_the_readers_clock():
    reader = replace(READER, quiet=(time(20), time(7)), time_zone="Pacific/Auckland")
    assert is_quiet(reader, datetime(2026, 11, 9, 12, 0))  # 01:00 there
    assert not is_quiet(reader, datetime(2026, 11, 9, 3, 0))  # 16:00 there


def test_a_letter_may_go_to_one_who_is_still_a_reader_and_not_on_hold():
    may_go = MayGo(NETWORK, MAIL, NOW_UTC)
    assert may_go(row()) and may_go(row(recipient="LEAD@saltmarsh.example"))
    assert not may_go(row(recipient="gone@saltmarsh.example"))
    held = replace(MAIL, hold=("lead@saltmarsh.example",))
    assert is_held(held, "Lead@Saltmarsh.example")
    assert not MayGo(NETWORK, held, NOW_UTC)(row())


def test_only_the_watch_keeps_quiet():
    night = replace(NETWORK, recipients=(replace(READER, quiet=(time(6), time(7))),))
    may_go = MayGo(night, MAIL, NOW_UTC)
    assert may_go(row("monthly")) and not may_go(row("watch"))


def test_the_door_is_the_one_that_is_declared():
    assert isinstance(door_of(MAIL, {}), SmtpDoor)
    assert isinstance(door_of(replace(MAIL, host="", folder=Path("out")), {}), FolderDoor)
    with pytest.raises(ConfigurationError, match="has no SMTP_PASSWORD"):
        door_of(replace(MAIL, user="r", password=Secret(env="SMTP_PASSWORD")), {})


def test_a_password_beyond_ascii_is_told_before_anything_is_sent():
    mail = replace(MAIL, user="r", password=Secret(env="SMTP_PASSWORD"))
    with pytest.raises(ConfigurationError, match="beyond ASCII") as caught:
        door_of(mail, {"SMTP_PASSWORD": "pässwort"})
    assert "pässwort" not in str(caught.value)


def test_without_mail_or_readers_it_is_said_what_to_declare():
    with pytest.raises(ConfigurationError, match=r"has no \[mail\]"):
        declared_mail(replace(NETWORK, mail=None))
    with pytest.raises(ConfigurationError, match=r"has no \[\[recipient\]\]"):
        declared_mail(replace(NETWORK, recipients=()))
