import io
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import polars as pl
import pytest

START = datetime(2026, 3, 31, 14, 30)


def parquet(**columns: object) -> bytes:
    stream = io.BytesIO()
    pl.DataFrame(columns).write_parquet(stream)
    return stream.getvalue()


@pytest.fixture
def feed(make_feed):
    def made(**columns):
        return make_feed("cycle", {"kind": "parquet", "decimal": ","}, columns)

    return made


def test_typed_columns_keep_their_values(stage, feed):
    data = parquet(
        no=pl.Series([17, None], dtype=pl.UInt16),
        serial=["SN-1", " "],
        start=[START, None],
        end=[START.replace(tzinfo=UTC), None],
        low=pl.Series([134.25, 0.1], dtype=pl.Float64),
        high=[Decimal("135.50"), None],
        drying=[timedelta(minutes=12), None],
        text=["134,5", None],
        told=pl.Series([True, None]),
    )
    columns = {
        "cycle_number": "no",
        "unit_serial": "serial",
        "started": "start",
        "ended": "end",
        "hold_min_celsius": "low",
        "hold_max_celsius": "high",
        "drying_seconds": "drying",
        "set_celsius": "text",
        "note": "told",
    }
    result = stage(feed(**columns), data, zone="Europe/Berlin")
    assert result.rows(
        "cycle", "line", "cycle_number", "unit_serial", "started_utc", "ended_utc", "ended_local",
        "hold_min_celsius", "hold_max_celsius", "drying_seconds", "set_celsius", "note",
    ) == [
        (1, 17, "SN-1", datetime(2026, 3, 31, 12, 30), START, datetime(2026, 3, 31, 16, 30),
         134.25, 135.5, 720.0, 134.5, "true"),
        (2, None, None, None, None, None, 0.1, None, None, None, None),
    ]  # fmt: skip
    assert result.counts == (2, 0, 2)


def test_a_float_is_a_whole_number_only_if_it_is_one(stage, feed):
    result = stage(feed(cycle_number="no"), parquet(no=[17.0, 17.5, float("nan"), None]))
    assert result.rows("cycle", "line", "cycle_number") == [(1, 17), (4, None)]
    assert [row[:2] for row in result.held] == [(2, "STG-09"), (3, "STG-09")]


def test_numbers_are_no_instants(stage, feed):
    result = stage(feed(started="at"), parquet(at=[1780000000]))
    assert result.held == [(1, "STG-11", "started", "1780000000")]


def test_instants_are_no_numbers_and_their_day_is_a_date(stage, make_feed):
    columns = {"counter": "at", "done_on": "at", "note": "at"}
    result = stage(make_feed("task", {"kind": "parquet"}, columns), parquet(at=[START]))
    assert result.held == [(1, "STG-09", "counter", "2026-03-31 14:30:00.000000")]
    feed = make_feed("task", {"kind": "parquet"}, {"done_on": "at"})
    result = stage(feed, parquet(at=[START, None]))
    assert result.rows("task", "done_on") == [(START.date(),), (None,)]


@pytest.mark.parametrize("unit", ["ms", "us", "ns"])
def test_the_text_of_an_instant_is_iso_8601(stage, feed, unit):
    zone = pl.Datetime(unit, "Europe/Berlin")
    plain = pl.Series([START, START + timedelta(milliseconds=250)], dtype=pl.Datetime(unit))
    data = parquet(start=plain, end=plain.dt.replace_time_zone("Europe/Berlin").cast(zone))
    result = stage(feed(started="start", ended="end"), data, zone="Europe/Berlin")
    assert result.rows("cycle", "started_text", "ended_text") == [
        ("2026-03-31T14:30:00", "2026-03-31T14:30:00+02:00"),
        ("2026-03-31T14:30:00.250", "2026-03-31T14:30:00.250+02:00"),
    ]
    assert result.rows("cycle", "started_utc = ended_utc", "started_local = ended_local") == [
        (True, True),
        (True, True),
    ]


def test_a_date_fills_a_day(stage, make_feed):
    feed = make_feed("task", {"kind": "parquet"}, {"done_on": "day"})
    result = stage(feed, parquet(day=[date(2026, 3, 31)]))
    assert result.rows("task", "done_on") == [(date(2026, 3, 31),)]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "The file is empty (0 bytes)."),
        (b"PAR1 and no more PAR1", "The file is no readable Parquet file: "),
        (parquet(x=[1]), 'The file has no column "no"; found: "x".'),
        (parquet(no=[[1, 2]]), 'Column "no" holds List(Int64), not one value a row.'),
    ],
)
def test_what_is_no_table_of_plain_values_is_set_aside(stage, feed, data, told):
    result = stage(feed(cycle_number="no"), data, parquet(no=[1]))
    assert result.reasons[0].startswith(told)
    assert result.rows("cycle", "cycle_number") == [(1,)]


def test_a_file_whose_pages_are_damaged_leaves_no_rows(stage, feed):
    data = bytearray(parquet(no=list(range(1000))))
    data[4:200] = bytes(196)
    result = stage(feed(cycle_number="no"), bytes(data))
    assert result.reasons[0].startswith("The file is no readable Parquet file: ")
    assert result.rows("cycle", "line") == []
