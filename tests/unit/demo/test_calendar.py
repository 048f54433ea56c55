"""Days, holidays, weather and the mains; the dates of Easter are those of any almanac."""

from datetime import date

import numpy as np
import pytest

from pipeline.demo.calendar import days_of
from pipeline.demo.holidays import public_holidays
from pipeline.demo.sites import place
from pipeline.demo.window import Window

WINDOW = Window.of_months(date(2026, 10, 31), 18)


# Western Easter Sundays as printed in almanacs; the holidays are two days before and one after.
@pytest.mark.parametrize(
    ("easter", "friday", "monday"),
    [
        (date(2024, 3, 31), date(2024, 3, 29), date(2024, 4, 1)),
        (date(2025, 4, 20), date(2025, 4, 18), date(2025, 4, 21)),
        (date(2026, 4, 5), date(2026, 4, 3), date(2026, 4, 6)),
        (date(2038, 4, 25), date(2038, 4, 23), date(2038, 4, 26)),
    ],
)
def test_easter_moves_as_in_the_almanac(easter, friday, monday):
    assert {friday, monday} <= set(public_holidays(easter.year))
    assert easter not in public_holidays(easter.year)


def test_a_window_of_months_ends_with_its_last_day():
    assert (WINDOW.first_on, WINDOW.ends_on) == (date(2025, 5, 1), date(2026, 10, 31))
    assert WINDOW.day_count == 549


def test_a_site_is_shut_on_holidays_and_in_its_closures():
    for index in range(24):
        days = days_of(2026, index, WINDOW)
        shut = [WINDOW.index(date(2025, 12, 25)), WINDOW.index(date(2026, 4, 3))]
        shut += [WINDOW.index(closure.from_on) for closure in days.closures]
        assert not days.is_open[shut].any()


# Local midnight of a summer's and a winter's day in UTC: IANA zones, British Summer Time and the
# Azores, an hour behind it.
@pytest.mark.parametrize(
    ("site_index", "zone", "day", "hours_from_utc"),
    [
        (1, "Europe/London", date(2026, 7, 1), 1),
        (1, "Europe/London", date(2026, 1, 15), 0),
        (0, "Atlantic/Azores", date(2026, 7, 1), 0),
        (0, "Atlantic/Azores", date(2026, 1, 15), -1),
    ],
)
def test_midnight_is_local(site_index, zone, day, hours_from_utc):
    assert place(site_index, WINDOW.ends_on).time_zone == zone
    seconds = days_of(2026, site_index, WINDOW).midnight_seconds[WINDOW.index(day)]
    since = (day - date(1970, 1, 1)).days * 86_400
    assert since - seconds == hours_from_utc * 3600


def test_mains_dips_come_more_often_in_wet_weeks():
    wet, dips, days = [], 0, 0
    for index in range(200):
        one = days_of(3, index, WINDOW)
        day = np.searchsorted(one.midnight_seconds, one.dips, side="right") - 1
        wet.append(one.wetness[day])
        dips, days = dips + len(one.dips), days + len(one.wetness)
    usual = np.mean([days_of(3, index, WINDOW).wetness.mean() for index in range(4)])
    assert 0.003 < dips / days < 0.02
    assert np.concatenate(wet).mean() > usual + 0.03
