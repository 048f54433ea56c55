"""What is printed for schedulers, read by the schedulers' own tools, or as they would read it."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree

import pytest

from pipeline.base.period import Month
from pipeline.config.mail import Mail, Secret
from pipeline.config.network import Network
from pipeline.config.recipients import Recipient
from pipeline.config.schedule import Schedule
from pipeline.outgoing.plans import KINDS, plan

PROGRAM = Path(sys.executable)
MAIL = Mail(
    "Reports", "r@saltmarsh.example", "smtp.saltmarsh.example", 587, user="r",
    password=Secret(credential="smtp-password"),
)  # fmt: skip
LONDON = Schedule("Europe/London")
READER = Recipient("lead@saltmarsh.example", "group", "", "Europe/London")


@pytest.fixture
def make_network(tmp_path):
    def made(schedule: Schedule = LONDON, folder: str = "clinics") -> Network:
        place = tmp_path / folder
        return Network(
            place, "Saltmarsh", True, {}, (), (), place, place, "f", mail=MAIL,
            recipients=(READER,), schedule=schedule,
        )  # fmt: skip

    return made


def systemd_analyze(*arguments: str) -> str:
    program = shutil.which("systemd-analyze")
    if program is None:
        if os.environ.get("HOLDTIME_REQUIRE_SERVERS"):
            pytest.fail("needs systemd-analyze, which is not installed")
        pytest.skip("needs systemd-analyze, which is not installed")
    done = subprocess.run(
        [program, *arguments], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout + done.stderr


def value(text: str, name: str) -> str:
    return re.search(rf"^{name}=(.*)$", text, re.MULTILINE)[1]


@pytest.mark.parametrize("folder", ["clinics", "all our clinics 100%"])
def test_systemd_finds_no_fault_in_its_units(make_network, tmp_path, folder):
    units = tmp_path / "units"
    units.mkdir()
    files = plan(make_network(folder=folder), "systemd", PROGRAM)
    for name, text in files.items():
        (units / name).write_text(text, encoding="utf-8")
    told = systemd_analyze("verify", *(str(units / name) for name in sorted(files)))
    # Whether the account is there is the machine's matter.
    lines = [line for line in told.splitlines() if "/units/" in line]
    assert lines == []


def next_elapses(calendar: str, base: str, count: int) -> list[datetime]:
    told = systemd_analyze("calendar", f"--base-time={base}", f"--iterations={count}", calendar)
    found = re.findall(r"\(in UTC\): \w+ (\d{4}-\d\d-\d\d \d\d:\d\d:\d\d) UTC", told)
    if not found:  # a machine whose own zone is UTC prints no second line
        found = re.findall(r"(?:Next elapse|Iter\. #\d+): \w+ ([\d-]+ [\d:]+) UTC", told)
    return [datetime.fromisoformat(one) for one in found]


ZONES = [
    # zone               hours ahead of UTC in winter
    ("Europe/London", 0),
    ("Pacific/Kiritimati", 14),
    ("Pacific/Pago_Pago", -11),
]


@pytest.mark.parametrize(("zone", "ahead"), ZONES)
def test_systemd_starts_the_letters_on_the_days_that_the_schedule_says(make_network, zone, ahead):
    """Twenty-four months, with a 28 February that is a Sunday and a January after week 53."""
    schedule = Schedule(zone)
    timer = plan(make_network(schedule), "systemd", PROGRAM)["holdtime-letters.timer"]
    found = next_elapses(value(timer, "OnCalendar"), "2026-01-10 12:00:00 UTC", 24)
    assert len(found) == 24
    month = Month(2026, 1)
    for instant in found:
        local = instant + timedelta(hours=ahead)
        if zone == "Europe/London" and 4 <= instant.month <= 10:
            local += timedelta(hours=1)
        assert (local.date(), local.hour, local.minute) == (schedule.due_on(month), 6, 30)
        month = month.next()


def test_a_fixed_day_is_that_day_of_every_month(make_network):
    timer = plan(make_network(Schedule("UTC", day="3")), "systemd", PROGRAM)
    calendar = value(timer["holdtime-letters.timer"], "OnCalendar")
    found = next_elapses(calendar, "2027-01-10 12:00:00 UTC", 3)
    assert [str(one.date()) for one in found] == ["2027-02-03", "2027-03-03", "2027-04-03"]


def cron_starts(line: str, day: date) -> bool:
    """Whether cron starts this line on a day. Source: crontab(5), the five fields."""
    minute, hour, days, months, weekdays, command = line.split(" ", 5)
    assert (months, weekdays) == ("*", "*") and minute.isdecimal() and hour.isdecimal()
    if days != "*":
        first, _, last = days.partition("-")
        if not int(first) <= day.day <= int(last or first):
            return False
    test = re.match(r'\[ "\$\(date \+\\%u\)" = (\d) \] && ', command)
    return test is None or day.isoweekday() == int(test[1])


@pytest.mark.parametrize("day", ["first-monday", "3"])
def test_cron_starts_the_letters_on_the_same_days(make_network, day):
    schedule = Schedule("UTC", day=day)
    (text,) = plan(make_network(schedule), "cron", PROGRAM).values()
    (line,) = [one for one in text.splitlines() if " 'send' " in one]
    day_of = (date(2026, 1, 10) + timedelta(days=n) for n in range(730))
    starts = [one for one in day_of if cron_starts(line, one)]
    months = [Month(2026, 1)]
    while len(months) < len(starts):
        months.append(months[-1].next())
    assert starts == [schedule.due_on(month) for month in months] and len(starts) >= 23


def test_the_line_of_cron_is_a_command_of_the_shell(make_network):
    (text,) = plan(make_network(folder="all our clinics 100%"), "cron", PROGRAM).values()
    lines = [line for line in text.splitlines() if line[:1].isdigit()]
    assert len(lines) == 4
    for line in lines:
        command = line.split(" ", 5)[5]
        # Source: crontab(5): an unescaped percent sign ends the command.
        assert not re.search(r"(?<!\\)%", command)
        words = shlex.split(command.replace(r"\%", "%"))
        assert words[-1].endswith("/all our clinics 100%") and str(PROGRAM) in words
    assert shutil.which("sh")
    for line in lines:
        shell = line.split(" ", 5)[5].replace(r"\%", "%")
        subprocess.run(["sh", "-n", "-c", shell], check=True)


TASK = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"


def test_the_task_of_windows_holds_the_days_and_keeps_to_the_monday_itself(make_network):
    files = plan(make_network(folder="our & clinics"), "windows", PROGRAM)
    root = ElementTree.fromstring(files["holdtime-letters.xml"])
    assert [one.text for one in root.iter(f"{TASK}Day")] == [str(n) for n in range(3, 10)]
    assert len(list(next(root.iter(f"{TASK}Months")))) == 12
    arguments = next(root.iter(f"{TASK}Arguments")).text
    assert arguments.startswith("send --if-due --folder") and "our & clinics" in arguments
    assert next(root.iter(f"{TASK}StartWhenAvailable")).text == "true"
    assert next(root.iter(f"{TASK}MultipleInstancesPolicy")).text == "IgnoreNew"
    assert {name.split("-")[1] for name in files} == {
        "nightly.xml", "watch.xml", "letters.xml", "check.xml",
    }  # fmt: skip


def test_the_container_runs_alone_and_as_nobody_in_particular(make_network):
    files = plan(make_network(), "container", PROGRAM)
    spec = json.loads(files["holdtime-letters.json"])["spec"]
    assert (spec["schedule"], spec["timeZone"]) == ("30 6 3-9 * *", "Europe/London")
    assert spec["concurrencyPolicy"] == "Forbid"
    pod = spec["jobTemplate"]["spec"]["template"]["spec"]
    assert pod["securityContext"]["runAsNonRoot"]
    assert pod["containers"][0]["args"] == ["send", "--if-due", "--folder", "/data"]


@pytest.mark.parametrize("kind", KINDS)
def test_no_plan_holds_a_secret_or_runs_letters_without_readers(make_network, kind):
    network = make_network()
    told = "".join(plan(network, kind, PROGRAM).values())
    assert "watch" in told
    alone = replace(network, recipients=())
    without = "".join(plan(alone, kind, PROGRAM).values())
    assert re.search(r"\brun\b", without) and "watch" not in without
    assert "password=" not in told
    if kind == "systemd":
        assert "LoadCredential=smtp-password:/etc/holdtime/smtp-password" in told
