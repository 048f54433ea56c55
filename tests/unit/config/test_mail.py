"""Readers, the way letters leave, and the days on which they are due."""

from datetime import date, datetime, time

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.base.period import Month
from pipeline.config.load import load_network
from pipeline.config.mail import Secret
from pipeline.config.schedule import Schedule

MAIL = """
[mail]
from = "Saltmarsh reports <reports@saltmarsh.example>"
host = "smtp.saltmarsh.example"
user = "reports"
password_file = "keys/smtp"
hold = ["Away@saltmarsh.example"]

[mail.webhook]
url = "https://hooks.saltmarsh.example/sterilizers"
secret_env = "HOOK_SECRET"

[schedule]
day = "first-monday"
letters = "06:30"

[[recipient]]
address = "lead@saltmarsh.example"
role = "group"
watch = true
quiet = "20:00-07:00"

[[recipient]]
address = "outer@saltmarsh.example"
role = "region"
scope = "outer banks"
format = "text"

[[recipient]]
address = "umber@saltmarsh.example"
role = "site"
scope = "umber-bay"
time_zone = "Atlantic/Azores"
attach = ["findings"]
"""


@pytest.fixture
def declared(folder):
    """The right network with readers; what is given takes the place of what is there."""

    def made(old: str = "", new: str = ""):
        assert old in MAIL
        path = folder / "network.toml"
        path.write_text(path.read_text(encoding="utf-8") + MAIL.replace(old, new, 1), "utf-8")
        return load_network(folder)

    return made


def test_readers_have_a_role_a_scope_and_a_clock(declared):
    group, region, site = declared().recipients
    assert (group.role, group.scope, group.quiet) == ("group", "", (time(20), time(7)))
    assert (region.scope, region.format, region.time_zone) == (
        "Outer Banks",
        "text",
        "Europe/London",
    )
    assert (site.scope, site.time_zone, site.attachments) == (
        "umber-bay",
        "Atlantic/Azores",
        ("findings",),
    )


def test_mail_names_where_the_password_is_and_never_holds_it(declared, folder):
    mail = declared().mail
    assert mail.password == Secret(file=folder / "keys" / "smtp")
    assert (mail.port, mail.security, mail.domain) == (587, "starttls", "saltmarsh.example")
    assert mail.list_id == "holdtime.saltmarsh.example"
    assert mail.hold == ("away@saltmarsh.example",)
    assert mail.webhook.secret == Secret(env="HOOK_SECRET")


WRONG = [
    # what is there                     what is written instead       what must be said
    ('role = "group"', 'role = "boss"', "write one of: group, region, site"),
    ('scope = "outer banks"', 'scope = "Outer Bank"', 'Did you mean "Outer Banks"?'),
    ('scope = "umber-bay"', 'scope = "umber"', 'Did you mean "umber-bay"?'),
    ('role = "group"', 'role = "group"\nscope = "x"', "a reader of the group has none"),
    ("lead@saltmarsh.example", "lead", 'address is "lead"'),
    ("lead@saltmarsh.example", "a@b.example\\r\\nBcc: c@d.example", "write one such as"),
    ('format = "text"', 'format = "pdf"', "write one of: html, text"),
    ('format = "text"', 'language = "xx"', "write one of: en"),
    ('format = "text"', 'format = "text"\nimages = true', "which has none; leave out one"),
    ('quiet = "20:00-07:00"', 'quiet = "8pm"', 'write the hours as "20:00-07:00"'),
    ("Atlantic/Azores", "Atlantic/Azors", 'Did you mean "Atlantic/Azores"?'),
    ('["findings"]', '["everything"]', "known: page, findings, pack"),
    ("watch = true", 'attach = ["pack"]', "which is of one site"),
    ("watch = true", "wach = true", 'Did you mean "watch"?'),
    ("watch = true", "watch = 1", "write true or false"),
    ('password_file = "keys/smtp"', 'password = "hunter2"', 'has "password" in the open'),
    ('password_file = "keys/smtp"', "", "has a user without a password"),
    ('password_file = "keys/smtp"', 'password_credential = "../x"', "not a path"),
    ('host = "smtp.saltmarsh.example"', "", "needs a host, or a folder"),
    ('user = "reports"', 'user = "reports"\nsecurity = "none"', "use starttls"),
    ('user = "reports"', 'user = "reports"\nport = 0', "from 1 to 65535"),
    ("Saltmarsh reports <reports@saltmarsh.example>", "reports", "has no sender"),
    ("https://hooks", "http://hooks", "begins with https://"),
    ('secret_env = "HOOK_SECRET"', "", "has no secret to sign with"),
    ('day = "first-monday"', "day = 1", "need two days to arrive"),
    ('letters = "06:30"', 'letters = "6.30"', 'such as "06:30"'),
]


@pytest.mark.parametrize(("old", "new", "said"), WRONG)
def test_each_fault_of_readers_and_mail_is_told_with_what_to_do(declared, old, new, said):
    with pytest.raises(ConfigurationError) as caught:
        declared(old, new)
    assert said in str(caught.value)
    assert "hunter2" not in str(caught.value)


NEVER = [
    # the reader's quiet hours, zone, and what is said of a watch at 07:30 in London
    ("20:00-08:00", "Europe/London", "keeps quiet at 07:30"),
    ("18:00-07:00", "Atlantic/Azores", "keeps quiet at 06:30"),
    ("20:00-23:00", "Pacific/Auckland", "keeps quiet at 20:30"),  # in January; 18:30 in July
]


@pytest.mark.parametrize(("quiet", "zone", "said"), NEVER)
def test_a_reader_who_would_never_be_told_is_a_fault(declared, quiet, zone, said):
    with pytest.raises(ConfigurationError, match=said):
        declared('quiet = "20:00-07:00"', f'quiet = "{quiet}"\ntime_zone = "{zone}"')


def test_one_address_has_one_letter_a_scope(declared):
    with pytest.raises(ConfigurationError, match="is there twice for one scope"):
        declared(
            '[[recipient]]\naddress = "outer@',
            '[[recipient]]\naddress = "LEAD@saltmarsh.example"\nrole = "group"\n'
            '[[recipient]]\naddress = "outer@',
        )


DUE = [
    # month      due           why it is worth a row
    ("2026-10", "2026-11-09"),  # 1 November is a Sunday: Monday the 2nd leaves one day, not two
    ("2026-11", "2026-12-07"),
    ("2027-01", "2027-02-08"),  # 1 February is a Monday
    ("2027-02", "2027-03-08"),  # 28 February is a Sunday
    ("2026-12", "2027-01-04"),  # 1 January lies in week 53 of the year before
    ("2026-07", "2026-08-03"),  # the earliest: Monday the 3rd
]


@pytest.mark.parametrize(("month", "due"), DUE)
def test_letters_are_due_on_the_first_monday_that_leaves_two_days(month, due):
    found = Schedule().due_on(Month.parse(month))
    assert found == date.fromisoformat(due)
    assert found.weekday() == 0 and 3 <= found.day <= 9


def test_a_fixed_day_is_late_by_the_fifth():
    fixed = Schedule(day="3")
    assert fixed.due_on(Month(2026, 10)) == date(2026, 11, 3)
    assert fixed.late_on(Month(2026, 10)) == date(2026, 11, 5)


# The instant at which 1 March begins, in zones on either side of UTC, and the second before.
TURNS = [
    # zone                   the month before until        the month after from
    ("Pacific/Kiritimati", "2026-02-28T09:59:59", "2026-02-28T10:00:00"),
    ("UTC", "2026-02-28T23:59:59", "2026-03-01T00:00:00"),
    ("America/St_Johns", "2026-03-01T03:29:59", "2026-03-01T03:30:00"),
    ("Pacific/Pago_Pago", "2026-03-01T10:59:59", "2026-03-01T11:00:00"),
]


@pytest.mark.parametrize(("zone", "before", "after"), TURNS)
def test_the_last_month_turns_at_midnight_of_the_schedules_zone(zone, before, after):
    schedule = Schedule(time_zone=zone)
    assert str(schedule.last_month(datetime.fromisoformat(before))) == "2026-01"
    assert str(schedule.last_month(datetime.fromisoformat(after))) == "2026-02"
