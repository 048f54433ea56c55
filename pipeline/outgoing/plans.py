"""What each scheduler needs to be told, as texts to look at and install: nothing is installed here.

The month's logic is the same everywhere: letters on the first Monday that leaves two whole days for
logs to arrive, which is the one from the 3rd to the 9th; or on a fixed day.
"""

import json
from dataclasses import dataclass
from pathlib import Path
from xml.sax.saxutils import escape

from pipeline.config.network import Network
from pipeline.config.schedule import FIRST_MONDAY

KINDS = ("systemd", "cron", "windows", "container")
CHECK_HOUR = 9
"""When the check looks, long after the letters."""


@dataclass(frozen=True)
class Job:
    """One thing to start, at a time of the schedule's zone, on some days of each month."""

    name: str
    does: str
    arguments: tuple[str, ...]
    hour: int
    minute: int
    days: range | None = None
    is_monday: bool = False


def plan(network: Network, kind: str, program: Path) -> dict[str, str]:
    """The texts for one kind of scheduler, by the names of the files that they belong into."""
    made = {"systemd": _systemd, "cron": _cron, "windows": _windows, "container": _container}
    return made[kind](network, _jobs(network), program)


def _jobs(network: Network) -> list[Job]:
    schedule = network.schedule
    # By day, because its letters may not come in the hours that readers keep quiet.
    watch = Job("watch", "fetch logs again, and write of what is new and urgent", ("watch",),
                schedule.watch.hour, schedule.watch.minute)  # fmt: skip
    has_readers = network.mail is not None and bool(network.recipients)
    return [
        Job("nightly", "fetch logs and make the pages", ("run",),
            schedule.nightly.hour, schedule.nightly.minute),
        *((watch,) if has_readers else ()),
        Job("letters", "send the letters of the month before", ("send", "--if-due"),
            schedule.letters.hour, schedule.letters.minute, schedule.days,
            schedule.day == FIRST_MONDAY),
        Job("check", "say so if a run or the letters did not happen", ("schedule", "check"),
            CHECK_HOUR, 0),
    ]  # fmt: skip


def _systemd(network: Network, jobs: list[Job], program: Path) -> dict[str, str]:
    files = {}
    folder = network.folder.resolve()
    for job in jobs:
        command = " ".join(_quoted(str(part)) for part in _command(job, folder, program))
        files[f"holdtime-{job.name}.service"] = "\n".join(
            [
                "[Unit]",
                f"Description=holdtime: {job.does}",
                "Wants=network-online.target",
                "After=network-online.target",
                "",
                "[Service]",
                "Type=oneshot",
                "User=holdtime",
                f"ExecStart={command}",
                "# 30: the job was done, and some lines were held for a person to look at.",
                "SuccessExitStatus=30",
                *_credentials(network),
                "NoNewPrivileges=yes",
                "PrivateTmp=yes",
                "ProtectSystem=strict",
                "# What is compiled on the first run is kept for the next.",
                "CacheDirectory=holdtime",
                "Environment=NUMBA_CACHE_DIR=%C/holdtime",
                f"ReadWritePaths={_quoted(str(folder))}",
                "",
            ]
        )
        day = f"{job.days[0]:02}..{job.days[-1]:02}" if job.days else "*"
        day = day if job.days is None or len(job.days) > 1 else f"{job.days[0]:02}"
        monday = "Mon " if job.is_monday else ""
        when = f"{monday}*-*-{day} {job.hour:02}:{job.minute:02}:00 {network.schedule.time_zone}"
        files[f"holdtime-{job.name}.timer"] = "\n".join(
            [
                "[Unit]",
                f"Description=When holdtime is to {job.does}",
                "",
                "[Timer]",
                f"OnCalendar={when}",
                "# A machine that was off does it when it is on again.",
                "Persistent=true",
                "",
                "[Install]",
                "WantedBy=timers.target",
                "",
            ]
        )
    return files


def _credentials(network: Network) -> list[str]:
    secrets = [network.mail.password] if network.mail else []
    if network.mail and network.mail.webhook:
        secrets.append(network.mail.webhook.secret)
    names = [secret.credential for secret in secrets if secret.credential]
    return [f"LoadCredential={name}:/etc/holdtime/{name}" for name in names]


def _cron(network: Network, jobs: list[Job], program: Path) -> dict[str, str]:
    lines = [
        "# holdtime. Times are by the clock of this machine; [schedule] thinks in "
        f"{network.schedule.time_zone}.",
        "# A day of the month and a weekday would count as either, hence the test of the weekday.",
        "SHELL=/bin/sh",
    ]
    for job in jobs:
        parts = (f"'{part}'" for part in _command(job, network.folder.resolve(), program))
        # To cron a percent sign ends the line.
        command = " ".join(parts).replace("%", r"\%")
        monday = r'[ "$(date +\%u)" = 1 ] && ' if job.is_monday else ""
        lines += [f"# {job.does}", f"{_fields(job)} {monday}{command}"]
    return {"holdtime.crontab": "\n".join([*lines, ""])}


def _fields(job: Job) -> str:
    days = "*"
    if job.days is not None:
        days = str(job.days[0]) if len(job.days) == 1 else f"{job.days[0]}-{job.days[-1]}"
    return f"{job.minute} {job.hour} {days} * *"


def _windows(network: Network, jobs: list[Job], program: Path) -> dict[str, str]:
    return {f"holdtime-{job.name}.xml": _task(network, job, program) for job in jobs}


_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def _task(network: Network, job: Job, program: Path) -> str:
    """A task in the scheduler's own words; --if-due keeps to the Monday, which they cannot say."""
    if job.days is None:
        when = "<ScheduleByDay><DaysInterval>1</DaysInterval></ScheduleByDay>"
    else:
        days = "".join(f"<Day>{day}</Day>" for day in job.days)
        months = "".join(f"<{month} />" for month in _MONTHS)
        when = (
            f"<ScheduleByMonth><DaysOfMonth>{days}</DaysOfMonth><Months>{months}</Months>"
            "</ScheduleByMonth>"
        )
    command, *arguments = _command(job, network.folder.resolve(), program)
    told = escape(" ".join(f'"{part}"' if " " in part else part for part in arguments))
    return f"""<?xml version="1.0"?>
<Task version="1.2" xmlns="http://schemas.microsoft.com/windows/2004/02/mit/task">
  <RegistrationInfo><Description>holdtime: {escape(job.does)}</Description></RegistrationInfo>
  <Triggers>
    <CalendarTrigger>
      <StartBoundary>2026-01-01T{job.hour:02}:{job.minute:02}:00</StartBoundary>
      <Enabled>true</Enabled>
      {when}
    </CalendarTrigger>
  </Triggers>
  <Settings>
    <MultipleInstancesPolicy>IgnoreNew</MultipleInstancesPolicy>
    <StartWhenAvailable>true</StartWhenAvailable>
    <ExecutionTimeLimit>PT12H</ExecutionTimeLimit>
  </Settings>
  <Actions Context="Author">
    <Exec><Command>{escape(command)}</Command><Arguments>{told}</Arguments></Exec>
  </Actions>
</Task>
"""


def _container(network: Network, jobs: list[Job], program: Path) -> dict[str, str]:
    """Jobs for a cluster that starts containers; JSON, which is YAML as well."""
    return {f"holdtime-{job.name}.json": _cron_job(network, job) for job in jobs}


def _cron_job(network: Network, job: Job) -> str:
    from pipeline import __version__

    container = {
        "name": "holdtime",
        "image": f"holdtime:{__version__}",
        "args": [*job.arguments, "--folder", "/data"],
        "volumeMounts": [
            {"name": "data", "mountPath": "/data"},
            {"name": "scratch", "mountPath": "/tmp"},
        ],
        "securityContext": {
            "allowPrivilegeEscalation": False,
            "readOnlyRootFilesystem": True,
            "capabilities": {"drop": ["ALL"]},
        },
    }
    pod = {
        "restartPolicy": "Never",
        "securityContext": {"runAsNonRoot": True, "runAsUser": 10001, "fsGroup": 10001},
        "containers": [container],
        "volumes": [
            {"name": "data", "persistentVolumeClaim": {"claimName": "holdtime"}},
            {"name": "scratch", "emptyDir": {}},
        ],
    }
    told = {
        "apiVersion": "batch/v1",
        "kind": "CronJob",
        "metadata": {"name": f"holdtime-{job.name}"},
        "spec": {
            "schedule": _fields(job),
            "timeZone": network.schedule.time_zone,
            "concurrencyPolicy": "Forbid",
            "jobTemplate": {"spec": {"backoffLimit": 0, "template": {"spec": pod}}},
        },
    }
    return json.dumps(told, indent=2) + "\n"


def _command(job: Job, folder: Path, program: Path) -> list[str]:
    return [str(program), *job.arguments, "--folder", str(folder)]


def _quoted(text: str) -> str:
    """As systemd reads a word. Source: systemd.service(5), systemd.syntax(7)."""
    text = text.replace("%", "%%").replace("$", "$$")
    return text if all(each.isalnum() or each in "-_./%$" for each in text) else f'"{text}"'
