"""Which rows a site sends in which file, and when: overlapping, repeated, late, or not at all."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from pipeline.base.period import Month
from pipeline.demo.habit import Habit
from pipeline.demo.scenario import Kind, scenarios_of
from pipeline.demo.window import Window

_LATE_SHARE, _REPEATED_SHARE = 0.03, 0.02
_EVENING = timedelta(hours=19)
HALF = "-half"


@dataclass(frozen=True)
class Export:
    """Rows of the days from from_on up to, but not on, to_on, as known at `exported` (UTC)."""

    name: str
    from_on: date
    to_on: date
    exported: datetime
    is_repeated: bool = False
    """Sent once more later, under another name, byte for byte."""


def exports_of(
    rng: np.random.Generator, habit: Habit, site_index: int, window: Window, overlap_days: int
) -> list[Export]:
    """A file a month, by the third of the next, with the last days of the month before in it.

    The newest comes on the morning after the last day, and nothing comes later than that.
    """
    silent = scenarios_of(site_index).get(Kind.SILENT)
    last_on = window.ends_on - timedelta(days=silent.since_days) if silent else window.ends_on
    exports = []
    month = Month.of(window.first_on)
    while month.first_on <= last_on:
        to_on = min(month.next().first_on, window.ends_on + timedelta(days=1))
        chances = rng.random(3)
        is_newest = to_on > window.ends_on
        minutes = chances[2] * (3 if is_newest else 72) * 60
        exported = _midnight(to_on) + timedelta(hours=5, minutes=int(minutes))
        is_old = window.ends_on - to_on > timedelta(days=60)
        if is_old and chances[0] < _LATE_SHARE:
            exported += timedelta(days=int(rng.integers(6, 40)))
        if to_on > last_on + timedelta(days=1):
            to_on = last_on + timedelta(days=1)
            exported = _midnight(last_on) + _EVENING
        from_on = month.first_on - timedelta(days=overlap_days)
        if habit.is_exporting_twice and to_on > month.first_on + timedelta(days=16):
            half_on = month.first_on + timedelta(days=15)
            exports.append(
                Export(f"{month}{HALF}", from_on, half_on, _midnight(half_on) + _EVENING)
            )
        is_repeated = bool(is_old and chances[1] < _REPEATED_SHARE)
        exports.append(Export(str(month), from_on, to_on, exported, is_repeated))
        month = month.next()
    return exports


def _midnight(day: date) -> datetime:
    return datetime.combine(day, datetime.min.time())


def by_quarter(exports: list[Export]) -> list[Export]:
    """Whole months taken together in threes, for a book that is copied less often."""
    months = [one for one in exports if not one.name.endswith(HALF)]
    return [
        Export(f"{three[0].name}-to-{three[-1].name}", three[0].from_on, three[-1].to_on,
               three[-1].exported)
        for three in (months[at : at + 3] for at in range(0, len(months), 3))
    ]  # fmt: skip
