"""Wall clocks in UTC, hour by hour, against Python's zoneinfo and the IANA database behind it."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import polars as pl
import pytest

from pipeline.config.network import Column
from pipeline.stage.times import Zones, to_instants

UTC = ZoneInfo("UTC")


# Each with a day on which its clocks change, or changed by an unusual step.
@pytest.mark.parametrize(
    ("zone", "begin"),
    [
        ("Europe/London", datetime(2026, 3, 28)),
        ("Europe/London", datetime(2026, 10, 24)),
        ("America/New_York", datetime(2026, 10, 31)),
        ("Australia/Lord_Howe", datetime(2026, 4, 4)),
        ("America/St_Johns", datetime(2026, 3, 7)),
        ("Africa/Cairo", datetime(2026, 4, 23)),
        ("Asia/Kathmandu", datetime(2026, 6, 1)),
        ("Pacific/Apia", datetime(2011, 12, 29)),
    ],
)
def test_every_quarter_of_an_hour_is_what_zoneinfo_says(zone: str, begin: datetime) -> None:
    walls = [begin + timedelta(minutes=15 * i) for i in range(4 * 60)]
    done = to_instants(
        Column("started"), pl.Series([str(one) for one in walls]), ("iso",), Zones(zone, zone)
    )
    utc = done.values["started_utc"]
    other = utc if done.other_utc is None else done.other_utc.fill_null(utc)
    for wall, *found in zip(walls, utc, other, strict=True):
        either = {_utc(wall, zone, fold) for fold in (0, 1)}
        assert set(found) == either, wall


def _utc(wall: datetime, zone: str, fold: int) -> datetime:
    aware = wall.replace(tzinfo=ZoneInfo(zone), fold=fold)
    return aware.astimezone(UTC).replace(tzinfo=None)
