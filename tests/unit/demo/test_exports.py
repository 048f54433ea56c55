"""Which rows come in which file, what goes wrong on the way, and stops that strike a whole site."""

from datetime import date, datetime, timedelta

import numpy as np
import polars as pl
import pytest

from pipeline.demo import spoiling
from pipeline.demo.exports import by_quarter, exports_of
from pipeline.demo.habit import habit_of
from pipeline.demo.sites import first_serial_number, place
from pipeline.demo.streams import Draws, stream
from pipeline.demo.tell import tell
from pipeline.demo.unit import units_of
from pipeline.demo.window import Window

ENDS_ON = date(2026, 10, 31)
WINDOW = Window.of_months(ENDS_ON, 18)
TEXT = "unit,cycle,celsius\nSI-0001,1,134.5\nSI-0001,2,134.6\nSI-0001,3,134.7\n"


def exports(index, overlap_days=4):
    habit = habit_of(2026, index, "dental")
    return exports_of(stream(2026, Draws.EXPORT, index), habit, index, WINDOW, overlap_days)


def test_months_follow_each_other_without_a_gap_and_overlap():
    months = [one for one in exports(1) if not one.name.endswith("-half")]
    assert [one.name for one in months][:2] == ["2025-05", "2025-06"]
    assert len(months) == 18
    for earlier, later in zip(months, months[1:], strict=False):
        assert later.from_on == earlier.to_on - timedelta(days=4)
    assert months[-1].to_on == date(2026, 11, 1)


def test_nothing_is_sent_before_its_rows_have_happened():
    for index in range(60):
        for one in exports(index):
            assert one.exported >= datetime.combine(one.to_on, datetime.min.time()) - timedelta(
                hours=6
            )


def test_some_exports_come_weeks_late():
    waits = [
        one.exported - datetime.combine(one.to_on, datetime.min.time())
        for index in range(24)
        for one in exports(index)
    ]
    assert 3 <= sum(wait > timedelta(days=5) for wait in waits) <= 40


def test_a_silent_site_sent_its_last_file_on_the_evening_of_its_last_day():
    last = exports(21)[-1]
    assert last.to_on == date(2026, 10, 19)
    assert last.exported.date() == date(2026, 10, 18)


def test_quarters_hold_all_months():
    quarters = by_quarter(exports(1))
    assert len(quarters) == 6
    assert quarters[-1].name == "2026-08-to-2026-10"
    assert quarters[-1].to_on == date(2026, 11, 1)


# What each fault makes of a file of three rows, the middle one being struck.
@pytest.mark.parametrize(
    ("fault", "told", "expected"),
    [
        (0, "last line cut short", TEXT[:-7]),
        (1, "letter in a number", TEXT.replace("134.6", "134.O")),
        (2, "unknown serial", TEXT.replace("2,134.6\n", "2,134.6\nSI-O001,2,134.6\n")),
        (3, "header repeated", TEXT.replace("SI-0001,2", "unit,cycle,celsius\nSI-0001,2")),
    ],
)
def test_a_file_is_spoilt_in_one_of_four_ways(fault, told, expected):
    class Rigged:
        def integers(self, low, high):
            return fault

        def random(self):
            return next(self.numbers)

        numbers = iter([0.0, 0.5])

    faults = []
    spoil = spoiling.spoiler(Rigged(), faults)
    assert spoil(TEXT, 1, ".") == expected
    assert faults == [told]


def test_most_files_arrive_as_they_were_written():
    rng = np.random.default_rng(1)
    spoilt = sum(spoiling.spoiler(rng, []) is not spoiling.untouched for _ in range(1000))
    assert 15 < spoilt < 70


def test_names_and_serials_are_unique_for_a_thousand_sites():
    sites = [place(index, ENDS_ON) for index in range(1008 + 30)]
    assert len({site.site_id for site in sites}) == len(sites)
    serials = [unit.serial for index in range(1000) for unit in units_of(index, 1000, WINDOW)]
    assert len(set(serials)) == len(serials)
    assert first_serial_number(24) == 73


def test_a_dip_of_the_mains_stops_several_units_of_a_site_in_one_minute():
    cycles = pl.concat(
        [
            tell(2026, unit, WINDOW).cycles.with_columns(site=index)
            for index in (1, 5, 6, 8, 12, 13)
            for unit in units_of(index, 24, WINDOW)
        ]
    )
    lost = cycles.filter(pl.col("stop_reason") == "power_loss")
    ended = lost["_started_utc"] + (lost["ended"] - lost["started"])
    struck = lost.with_columns(minute=ended.dt.truncate("1m")).group_by("site", "minute").len()
    assert (struck["len"] > 1).sum() >= 4


def test_runs_of_a_unit_never_overlap():
    for index in (0, 6, 9, 13):
        for unit in units_of(index, 24, WINDOW):
            cycles = tell(2026, unit, WINDOW).cycles.sort("_started_utc")
            length = cycles["ended"] - cycles["started"]
            gap = cycles["_started_utc"].diff()[1:] - length[:-1]
            assert gap.min() >= timedelta(seconds=60)
            assert length.max() < timedelta(hours=3)


def test_about_half_of_all_stops_are_the_equipments_and_few_units_have_most_of_them():
    # 1 to 6 % of load cycles stop, heavy-tailed by unit: common practice, no source.
    equipment, stops, loads = [], 0, 0
    for index in range(24):
        for unit in units_of(index, 24, WINDOW):
            told = tell(2026, unit, WINDOW)
            cycles = told.cycles.filter(pl.col("load_kind").is_not_null())
            is_stop = cycles["outcome"] != "complete"
            reasons = cycles["stop_reason"].filter(is_stop)
            people = "operator|door_not|door_opened|water|waste|power|unknown"
            equipment.append((~reasons.str.contains(people)).sum())
            stops, loads = stops + is_stop.sum(), loads + len(cycles)
    assert 0.01 < stops / loads < 0.06
    assert 0.4 < sum(equipment) / stops < 0.6
    top = sorted(equipment, reverse=True)[: len(equipment) // 5]
    assert sum(top) > 0.45 * sum(equipment)
