"""When the work is done: the table [schedule] of network.toml, and the days that follow from it."""

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from pipeline.base.period import Month
from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.recipients import Recipient

FIRST_MONDAY = "first-monday"
ARRIVAL_DAYS = 2
"""Days after a month's end that its last logs may take to arrive, before letters are written."""

_SETTINGS = {"time_zone", "nightly", "watch", "letters", "day", "grace_days"}
_WINTER_AND_SUMMER = (date(2026, 1, 15), date(2026, 7, 15))
_CLOCK_TIME = re.compile(r"([01]\d|2[0-3]):([0-5]\d)", re.ASCII)


@dataclass(frozen=True)
class Schedule:
    """Times by the clock of one zone; `day` is "first-monday", or a day of the month.

    The first Monday is the first that leaves two whole days for logs to arrive: from the 3rd to the
    9th. `grace_days` after the letters were due a run that did not happen is told.
    """

    time_zone: str = "UTC"
    nightly: time = time(2, 30)
    watch: time = time(7, 30)
    letters: time = time(6, 30)
    day: str = FIRST_MONDAY
    grace_days: int = 2

    @property
    def days(self) -> range:
        """Days of a month on which letters may fall due."""
        first = ARRIVAL_DAYS + 1
        return range(first, first + 7) if self.day == FIRST_MONDAY else range(
            int(self.day), int(self.day) + 1
        )  # fmt: skip

    def due_on(self, month: Month) -> date:
        """The day on which a month's letters are due, which lies in the month after."""
        day = month.next().first_on + timedelta(days=self.days[0] - 1)
        if self.day != FIRST_MONDAY:
            return day
        return day + timedelta(days=-day.weekday() % 7)

    def late_on(self, month: Month) -> date:
        """The first day on which letters that have not left are late."""
        return self.due_on(month) + timedelta(days=self.grace_days)

    def today(self, now_utc: datetime) -> date:
        """The day in the schedule's zone, whatever day this machine has."""
        return now_utc.replace(tzinfo=UTC).astimezone(ZoneInfo(self.time_zone)).date()

    def last_month(self, now_utc: datetime) -> Month:
        """The last whole month: on the 1st at 00:00 of the zone, the month that has just ended."""
        return Month.of(self.today(now_utc).replace(day=1) - timedelta(days=1))


def read_schedule(declared: dict[str, Any], zones: list[str], faults: Faults) -> Schedule:
    """The settings as declared; faults are noted.

    Without a zone, that of most sites counts: of several that are as many, the first by name.
    """
    where = "network.toml: schedule"
    for key in sorted(declared.keys() - _SETTINGS):
        faults.add(where, f'has no setting "{key}". {did_you_mean(key, _SETTINGS)}')
    most = sorted(Counter(zones).items(), key=lambda pair: (-pair[1], pair[0]))
    zone = str(declared.get("time_zone", most[0][0] if most else Schedule.time_zone))
    if zone not in available_timezones():
        hint = did_you_mean(zone, available_timezones())
        if "time_zone" in declared:
            faults.add(where, f'time_zone is "{zone}", which is not known. {hint}')
        zone = Schedule.time_zone
    day = declared.get("day", FIRST_MONDAY)
    if day != FIRST_MONDAY and (type(day) is not int or not ARRIVAL_DAYS < day <= 28):
        faults.add(
            where, f'day is {day!r}; write "first-monday", or a day from 3 to 28: the last logs of '
            "a month need two days to arrive.",
        )  # fmt: skip
        day = FIRST_MONDAY
    grace = declared.get("grace_days", Schedule.grace_days)
    if type(grace) is not int or not 1 <= grace <= 14:
        faults.add(where, f"grace_days is {grace!r}; write a number of days from 1 to 14.")
        grace = Schedule.grace_days
    return Schedule(
        zone,
        _time(declared, "nightly", Schedule.nightly, where, faults),
        _time(declared, "watch", Schedule.watch, where, faults),
        _time(declared, "letters", Schedule.letters, where, faults),
        str(day),
        grace,
    )


def check_quiet(schedule: Schedule, readers: Iterable[Recipient], faults: Faults) -> None:
    """Note each watching reader whose quiet hours would keep every letter of the watch away.

    Winter and summer are both asked, because the two clocks may not change together.
    """
    for reader in readers:
        at = [
            datetime.combine(day, schedule.watch, ZoneInfo(schedule.time_zone))
            .astimezone(ZoneInfo(reader.time_zone))
            .time()
            for day in _WINTER_AND_SUMMER
        ]
        never = [clock for clock in at if reader.is_quiet_at(clock)]
        if reader.is_watching and never:
            faults.add(
                "network.toml: recipient",
                f"{reader.address} keeps quiet at {never[0]:%H:%M}, when the watch writes, so it "
                "would tell them nothing; change quiet, or watch in [schedule].",
            )


def _time(declared: dict[str, Any], key: str, usual: time, where: str, faults: Faults) -> time:
    if key not in declared:
        return usual
    match = _CLOCK_TIME.fullmatch(str(declared[key]))
    if match is None:
        faults.add(where, f'{key} is {declared[key]!r}; write a time of day, such as "06:30".')
        return usual
    return time(int(match[1]), int(match[2]))
