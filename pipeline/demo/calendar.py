"""The days of a site: open or closed, busy or quiet, wet or dry, and when the mains dipped."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cache
from zoneinfo import ZoneInfo

import numpy as np

from pipeline.demo.holidays import public_holidays
from pipeline.demo.scenario import Kind, scenarios_of
from pipeline.demo.sites import REGIONS, place
from pipeline.demo.streams import Draws, Flags, Floats, Whole, stream
from pipeline.demo.window import Closure, Window

DAY_SECONDS = 86_400
_EPOCH = date(1970, 1, 1)
_WEEKDAY_VOLUME = np.array([1.2, 1.05, 1.0, 1.0, 0.85, 0.5, 0.35])
# Wet weeks keep patients at home (the ferry does not sail) and shake the mains.
_WET_VOLUME, _WET_DIPS = 0.15, 5.0
_DIPS_A_DAY = 0.006


@dataclass(frozen=True)
class Days:
    """One site's days; each array has an entry a day, but `dips`, which has one a mains dip."""

    is_open: Flags
    volume: Floats
    wetness: Floats
    weekday: Whole
    midnight_seconds: Whole
    """UTC seconds since 1970 at local midnight, taken with the offset of that day's noon."""
    dips: Whole
    closures: tuple[Closure, ...]


@cache
def days_of(seed: int, site_index: int, window: Window) -> Days:
    """The days of a site, drawn once; nothing in them depends on other sites but the weather."""
    site = place(site_index, window.ends_on)
    rng = stream(seed, Draws.CALENDAR, site_index)
    count = window.day_count
    calendar = [window.day(index) for index in range(count)]
    weekday = np.array([day.weekday() for day in calendar])
    years = range(window.first_on.year, window.ends_on.year + 1)
    holidays = {day for year in years for day in public_holidays(year)}
    closures = _closures(rng, site.clinic, window)
    is_open = np.array([day not in holidays and day >= site.opened_on for day in calendar])
    is_open &= _opening_weekdays(rng, site.clinic, site_index)[weekday]
    for closure in closures:
        from_index, to_index = window.index(closure.from_on), window.index(closure.to_on)
        is_open[max(from_index, 0) : max(to_index + 1, 0)] = False
    wetness = _wetness(seed, REGIONS.index(site.region), window)
    weeks = rng.lognormal(0, 0.12, count // 7 + 2)[(np.arange(count) + weekday[0]) // 7]
    volume = _WEEKDAY_VOLUME[weekday] * weeks * (1 - _WET_VOLUME * wetness)
    volume *= np.array([_quietness(day) for day in calendar])
    midnight = np.array([_midnight_seconds(day, site.time_zone) for day in calendar])
    has_dip = rng.random(count) < _DIPS_A_DAY * (1 + _WET_DIPS * wetness**2)
    dips = (midnight + rng.integers(8 * 3600, 17 * 3600, count))[has_dip]
    return Days(is_open, volume, wetness, weekday, midnight, np.sort(dips), closures)


def _opening_weekdays(rng: np.random.Generator, clinic: str, site_index: int) -> Flags:
    is_open = np.array([True] * 5 + [rng.random() < 0.5, False])
    if clinic == "veterinary":
        is_open[5:] = True
    if Kind.LITTLE in scenarios_of(site_index):
        is_open[:] = False
        is_open[2] = True
    return is_open


def _closures(rng: np.random.Generator, clinic: str, window: Window) -> tuple[Closure, ...]:
    closures = []
    for year in range(window.first_on.year, window.ends_on.year + 1):
        starts_on = date(year, 7, 14) + timedelta(days=int(rng.integers(0, 35)))
        starts_on -= timedelta(days=starts_on.weekday())
        weeks = int(rng.integers(1, 3))
        if clinic in ("dental", "podiatry") and rng.random() < 0.7:
            closures.append(Closure(starts_on, starts_on + timedelta(days=7 * weeks - 1), "leave"))
        if rng.random() < 0.6:
            closures.append(Closure(date(year, 12, 24), date(year, 12, 31), "year end"))
        if rng.random() < 0.25:
            flooded_on = date(year, 2, 2) + timedelta(days=int(rng.integers(0, 40)))
            closures.append(Closure(flooded_on, flooded_on + timedelta(days=3), "flood in cellar"))
    return tuple(one for one in closures if window.first_on <= one.from_on <= window.ends_on)


@cache
def _wetness(seed: int, region: int, window: Window) -> Floats:
    """How wet each day's week is, 0-1; weather lasts, and winters are wetter."""
    rng = stream(seed, Draws.WEATHER, region)
    weekly, level = [], 0.3
    for week in range(window.day_count // 7 + 2):
        winter = 0.5 + 0.5 * np.cos(
            2 * np.pi * (window.day(7 * week).timetuple().tm_yday - 15) / 365
        )
        level = float(np.clip(0.6 * level + 0.2 * winter + rng.normal(0, 0.16), 0, 1))
        weekly.append(level)
    offset = window.first_on.weekday()
    return np.array(weekly)[(np.arange(window.day_count) + offset) // 7]


def _quietness(day: date) -> float:
    if day.month == 8:
        return 0.85
    if (day.month, day.day) >= (12, 21) or (day.month, day.day) <= (1, 4):
        return 0.55
    return 1.0


def _midnight_seconds(day: date, time_zone: str) -> int:
    noon = datetime.combine(day, time(12), ZoneInfo(time_zone))
    offset = noon.utcoffset()
    assert offset is not None
    return (day - _EPOCH).days * DAY_SECONDS - int(offset.total_seconds())
