"""Serial days of spreadsheets, seconds since 1970, and times without a day."""

from datetime import date, datetime

import pytest

ENDED = {"source": "e", "formats": ("%H:%M",)}


@pytest.fixture
def read(stage, make_feed):
    def made(form: str, *texts: str, zone: str = "Europe/Berlin") -> list[str | None]:
        feed = make_feed(
            "cycle", {"separator": ";"}, {"started": {"source": "s", "formats": (form,)}}
        )
        result = stage(feed, "\n".join(["s", *texts]).encode(), zone=zone)
        found = dict(result.rows("cycle", "line", "started_local"))
        return [str(found[i]) if i in found else None for i in range(2, len(texts) + 2)]

    return made


# ECMA-376 part 1, 18.17.4.1: serial 1 is 1 January 1900 and, as 1900 counts as a leap year there,
# 61 is 1 March 1900; in the other system 0 is 1 January 1904, 1462 days apart.
@pytest.mark.parametrize(
    ("form", "text", "local"),
    [
        ("serial", "61", "1900-03-01 00:00:00"),
        ("serial", "60", None),
        ("serial", "46300.5", "2026-10-05 12:00:00"),
        ("serial", "46300,5", "2026-10-05 12:00:00"),
        ("serial", "46112.604166666664", "2026-03-31 14:30:00"),
        ("serial1904", "44838.5", "2026-10-05 12:00:00"),
        ("serial1904", "0", "1904-01-01 00:00:00"),
        ("serial", "31.03.2026", None),
        ("serial", "1e300", None),
        ("serial", "-1", None),
        ("serial", "nan", None),
        ("epoch", "1774960200", "2026-03-31 14:30:00"),
        ("epoch_ms", "1774960200500", "2026-03-31 14:30:00.500000"),
        ("epoch", "1774960200500", None),
        ("epoch_ms", "17749602005000000000000", None),
    ],
)
def test_a_count_is_read_in_its_own_system_only(read, form, text, local):
    assert read(form, text) == [local]


def test_an_epoch_is_an_instant_so_that_no_hour_of_it_is_doubtful(read):
    # The two hours 02:30 of 25 October 2026 in Berlin.
    assert read("epoch", "1792888200", "1792891800") == ["2026-10-25 02:30:00"] * 2


def test_a_serial_may_be_a_day(stage, make_feed):
    feed = make_feed("task", {}, {"done_on": {"source": "d", "formats": ("serial",)}})
    assert stage(feed, b"d\n46112\n").rows("task", "done_on") == [(date(2026, 3, 31),)]


def test_an_end_without_a_day_is_the_first_such_time_after_the_start(stage, make_feed):
    feed = make_feed("cycle", {}, {"started": "s", "ended": ENDED})
    rows = ["2026-10-05 08:00,08:45", "2026-10-05 23:40,00:25", "2026-10-05 08:00,08:00",
            "2026-12-31 23:40,00:25", "2026-10-05 08:00,24:00", "2026-10-05 08:00,8 h"]  # fmt: skip
    result = stage(feed, "\n".join(["s,e", *rows]).encode())
    assert [row for (row,) in result.rows("cycle", "ended_local")] == [
        datetime(2026, 10, 5, 8, 45),
        datetime(2026, 10, 6, 0, 25),
        datetime(2026, 10, 5, 8, 0),
        datetime(2027, 1, 1, 0, 25),
        datetime(2026, 10, 6, 0, 0),
    ]
    assert result.held == [(7, "STG-11", "ended", "8 h")]


def test_the_air_that_was_added_to_gauge_readings_is_stored(stage, make_feed):
    columns = {
        "hold_max_kpa": {"source": "p", "is_gauge": True},
        "hold_min_kpa": "q",
    }
    feed = make_feed("cycle", {}, columns, site_ids=("hill",))
    found = stage(feed, b"p,q\n200,300\n,300\n").rows("cycle", "hold_max_kpa", "ambient_kpa")
    # 2 000 m: 79.495 kPa (ISO 2533:1975, from memory).
    assert found[0] == pytest.approx((279.495, 79.495), abs=0.005)
    assert found[1] == (None, None)


def test_without_a_gauge_no_air_is_said_to_have_been_added(stage, make_feed):
    feed = make_feed("cycle", {}, {"hold_max_kpa": "p"})
    assert stage(feed, b"p\n300\n").rows("cycle", "ambient_kpa") == [(None,)]


def test_the_barometer_of_a_site_counts_in_the_place_of_the_standard_atmosphere(stage, make_feed):
    columns = {"hold_max_kpa": {"source": "p", "is_gauge": True}}
    feed = make_feed("cycle", {}, columns, site_ids=("tower",))
    assert stage(feed, b"p\n200\n").rows("cycle", "hold_max_kpa", "ambient_kpa") == [(290.0, 90.0)]
