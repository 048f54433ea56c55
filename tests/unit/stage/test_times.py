from datetime import date, datetime

import polars as pl
import pytest

from pipeline.config.network import Column
from pipeline.stage.times import Zones, to_dates, to_instants

BERLIN = Zones("Europe/Berlin", "Europe/Berlin")


def instant(text, *formats, zones=BERLIN):
    done = to_instants(Column("started"), pl.Series([text]), formats or ("iso",), zones)
    local, utc = (done.values[f"started_{end}"][0] for end in ("local", "utc"))
    return local, utc, done.is_doubtful is not None and done.is_doubtful[0]


def day(text, *formats):
    return to_dates(Column("done_on"), pl.Series([text]), formats or ("iso",)).values["done_on"][0]


# Wall clocks of Berlin in 2026: forward on 29 March at 02:00, back on 25 October at 03:00
# (Directive 2000/84/EC).
@pytest.mark.parametrize(
    ("text", "utc", "is_doubtful"),
    [
        ("2026-03-29 01:59", "2026-03-29 00:59", False),
        ("2026-03-29 02:00", "2026-03-29 01:00", True),
        ("2026-03-29 02:30", "2026-03-29 01:30", True),
        ("2026-03-29 03:00", "2026-03-29 01:00", False),
        ("2026-10-25 01:59", "2026-10-24 23:59", False),
        ("2026-10-25 02:00", "2026-10-25 00:00", True),
        ("2026-10-25 02:59", "2026-10-25 00:59", True),
        ("2026-10-25 03:00", "2026-10-25 02:00", False),
    ],
)
def test_an_hour_that_happened_twice_or_never_is_doubtful(text, utc, is_doubtful):
    local = datetime.fromisoformat(text)
    assert instant(text) == (local, datetime.fromisoformat(utc), is_doubtful)


# The island changes its clocks by half an hour; in 2026 back on 5 April at 02:00 and forward on
# 4 October at 02:00 (IANA time zone database, Australia/Lord_Howe).
@pytest.mark.parametrize(
    ("text", "utc", "is_doubtful"),
    [
        ("2026-04-05 01:29", "2026-04-04 14:29", False),
        ("2026-04-05 01:45", "2026-04-04 14:45", True),
        ("2026-04-05 02:00", "2026-04-04 15:30", False),
        ("2026-10-04 02:15", "2026-10-03 15:45", True),
        ("2026-10-04 02:30", "2026-10-03 15:30", False),
    ],
)
def test_a_change_of_half_an_hour_is_seen(text, utc, is_doubtful):
    zones = Zones("Australia/Lord_Howe", "Australia/Lord_Howe")
    expected = (datetime.fromisoformat(text), datetime.fromisoformat(utc), is_doubtful)
    assert instant(text, zones=zones) == expected


def test_a_day_that_never_was_is_doubtful():
    # Samoa had no 30 December 2011 (IANA time zone database, Pacific/Apia).
    _, utc, is_doubtful = instant("2011-12-30 12:00", zones=Zones("Pacific/Apia", "Pacific/Apia"))
    assert (utc, is_doubtful) == (datetime(2011, 12, 30, 22, 0), True)


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-31T14:30:00",
        "2026-03-31 14:30:00",
        "2026-03-31T14:30",
        " 2026-03-31 14:30 ",
        "2026-03-31T14:30:00.000",
        "2026-03-31T14:30:00,0",
        "2026-03-31T14:30+02:00",
        "2026-03-31T14:30:00+0200",
        "2026-03-31 14:30:00+02",
        "2026-03-31T12:30Z",
        "2026-03-31t12:30:00z",
        "2026-03-31 12:30:00.0Z",
        "2026-03-31T08:30:00-04:00",
    ],
)
def test_iso_8601_is_read_in_its_usual_forms(text):
    assert instant(text) == (datetime(2026, 3, 31, 14, 30), datetime(2026, 3, 31, 12, 30), False)


@pytest.mark.parametrize(
    ("text", "formats"),
    [
        ("2026-03-31", ("iso",)),
        ("31.03.2026 14:30", ("iso",)),
        ("2026-02-30 14:30", ("iso",)),
        ("2026-03-31 25:00", ("iso",)),
        ("2026-03-31 24:30", ("iso",)),
        ("2026-03-31 14:30 or so", ("iso",)),
        ("31.03.26 14:30", ("%d.%m.%Y %H:%M",)),
        ("31.03.2026 14:30", ("%m.%d.%Y %H:%M",)),
        ("14:30", ("%H:%M",)),
        ("31.03.0026 14:30", ("%d.%m.%Y %H:%M",)),
    ],
)
def test_what_is_not_surely_an_instant_is_none(text, formats):
    done = to_instants(Column("started"), pl.Series([text]), formats, BERLIN)
    assert done.values["started_utc"].to_list() == [None]
    assert done.is_bad.to_list() == [True]


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("31.03.2026 14:30", "%d.%m.%Y %H:%M"),
        ("31.03.26 14:30", "%d.%m.%y %H:%M"),
        ("3/31/2026 2:30 PM", "%m/%d/%Y %I:%M %p"),
        ("20260331143000", "%Y%m%d%H%M%S"),
        ("31 Mar 2026 14:30:00.000", "%d %b %Y %H:%M:%S.%f"),
        ("31.03.2026 14:30:00,000", "%d.%m.%Y %H:%M:%S,%f"),
        ("31.03.2026 12:30 +0000", "%d.%m.%Y %H:%M %z"),
    ],
)
def test_a_declared_format_is_read(text, form):
    assert instant(text, form)[:2] == (datetime(2026, 3, 31, 14, 30), datetime(2026, 3, 31, 12, 30))


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("2026-03-30 24:00", "iso"),
        ("2026-03-30T24:00:00", "iso"),
        ("30.03.2026 24:00", "%d.%m.%Y %H:%M"),
    ],
)
def test_the_hour_24_is_midnight_at_the_end_of_the_day(text, form):
    assert instant(text, form)[0] == datetime(2026, 3, 31, 0, 0)


@pytest.mark.parametrize(("text", "hour"), [("3/31/2026 12:05 AM", 0), ("3/31/2026 12:05 PM", 12)])
def test_twelve_o_clock_is_midnight_or_noon(text, hour):
    assert instant(text, "%m/%d/%Y %I:%M %p")[0] == datetime(2026, 3, 31, hour, 5)


def test_several_formats_are_tried_in_their_order():
    formats = ("%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M", "iso")
    texts = pl.Series(["03/04/2026 10:00", "12/31/2026 10:00", "2026-05-06 10:00", None, " "])
    done = to_instants(Column("started"), texts, formats, BERLIN)
    assert done.values["started_local"].to_list() == [
        datetime(2026, 4, 3, 10, 0),
        datetime(2026, 12, 31, 10, 0),
        datetime(2026, 5, 6, 10, 0),
        None,
        None,
    ]
    assert done.is_bad is None


def test_logs_in_utc_show_the_clinics_own_clock_beside_it():
    assert instant("2026-03-29 01:30", zones=Zones("UTC", "Europe/Berlin")) == (
        datetime(2026, 3, 29, 3, 30),
        datetime(2026, 3, 29, 1, 30),
        False,
    )


def test_an_instant_with_an_offset_is_never_doubtful():
    assert instant("2026-10-25T02:30+01:00") == (
        datetime(2026, 10, 25, 2, 30),
        datetime(2026, 10, 25, 1, 30),
        False,
    )


@pytest.mark.parametrize(
    ("text", "formats", "expected"),
    [
        ("2026-03-31", (), date(2026, 3, 31)),
        ("2026-03-31 14:30", (), date(2026, 3, 31)),
        ("2026-03-31T00:00:00", (), date(2026, 3, 31)),
        ("31.03.2026", ("%d.%m.%Y",), date(2026, 3, 31)),
        ("31.03.2026 23:59", ("%d.%m.%Y %H:%M",), date(2026, 3, 31)),
        ("2026-03-31T23:30Z", (), None),
        ("31.03.2026", (), None),
        ("2026-04-31", (), None),
        ("1026-03-31", (), None),
    ],
)
def test_a_date_is_a_day_of_the_clinics_calendar(text, formats, expected):
    assert day(text, *formats) == expected


def test_the_message_shows_a_date_as_it_should_be_written(stage, make_feed):
    feed = make_feed(
        "cycle", {}, {"started": {"source": "s", "formats": ("%d.%m.%Y %H:%M", "iso")}}
    )
    result = stage(feed, b"s\n1.5.26 10:00\n")
    assert result.held == [(2, "STG-11", "started", "1.5.26 10:00")]
    assert result.messages == [
        'Column started: not a day and time written as "31.03.2026 14:30" or "2026-03-31 14:30", '
        "from 1900 to 2199. Mend it, or add to the feed the format that it has."
    ]
