"""One and the same cycle in the five shapes, against figures worked out by hand.

134 °C is 273.2 °F and, by IAPWS-IF97, 304.20 kPa at saturation: 29.42 psi by gauge at the sea,
30.27 psi at 500 m. Source of the latter: IAPWS-IF97 with the ICAO standard atmosphere.
"""

import json
from dataclasses import replace
from datetime import date, datetime

import polars as pl
import pytest
from python_calamine import load_workbook

from pipeline.demo.layout import table
from pipeline.demo.sender import SHAPES
from pipeline.demo.shapes import comma, jsonlines, printout, semicolon, spreadsheet, words
from pipeline.demo.sites import place
from pipeline.demo.spoiling import untouched

SITE = replace(place(0, date(2026, 10, 31)), time_zone="Europe/London", altitude_m=500.0)
CYCLE = pl.DataFrame(
    {
        "unit_serial": ["SI-0042"],
        "cycle_number": [4312],
        "program": ["wrapped_134"],
        "started": [datetime(2026, 6, 5, 8, 14, 22)],
        "ended": [datetime(2026, 6, 5, 8, 49, 1)],
        "outcome": ["failed"],
        "stop_reason": ["drying_fault"],
        "set_celsius": [134.0],
        "hold_seconds": [247.0],
        "hold_min_celsius": [134.0],
        "hold_max_celsius": [135.0],
        "hold_min_kpa": [304.20],
        "hold_max_kpa": [313.20],
        "air_removal_min_kpa": [12.5],
        "heat_up_seconds": [431.0],
        "drying_seconds": [630.0],
        "leak_kpa_per_minute": [None],
        "conductivity_us_per_cm": [6.26],
        "load_id": ["GQ1-260605-2"],
        "load_kind": ["instruments"],
        "chemical_indicator": ["changed"],
        "released": ["no"],
        "operator_code": ["GQ2"],
        "note": ["reservoir refilled – run again"],
    },
    schema_overrides={"leak_kpa_per_minute": pl.Float64},
)


def told_in(module):
    """The cycle as the shape spells it, by header."""
    return table(module.cycles(SITE), CYCLE).row(0, named=True)


def test_commas_tell_it_in_our_words_and_in_utc():
    told = told_in(comma)
    assert told["started"] == "2026-06-05T08:14:22Z"
    assert told["outcome"] == "failed"
    assert told["hold_min_kpa"] == 304.2


def test_semicolons_tell_it_in_fahrenheit_gauge_psi_and_local_time():
    told = told_in(semicolon)
    assert told["Start"] == "05.06.2026 09:14:22"
    assert told["Set °F"] == 273.2
    assert told["Pmin psi"] == pytest.approx(30.27, abs=0.011)
    assert told["Hold"] == "4:07"
    assert told["Drying min"] == 10.5
    assert told["Reason"] == "not dry"


def test_semicolon_files_have_decimal_commas_three_heading_lines_and_are_cp1252():
    data = semicolon.encode(table(semicolon.cycles(SITE), CYCLE), "Title", untouched)
    lines = data.decode("cp1252").split("\r\n")
    assert lines[2].startswith("Unit;No;Program")
    assert "273,2" in lines[3]
    assert "refilled – run" in lines[3]
    with pytest.raises(UnicodeDecodeError):
        data.decode("utf-8")


def test_a_gauge_reads_less_at_the_sea():
    at_sea = table(semicolon.cycles(replace(SITE, altitude_m=0.0)), CYCLE)
    assert at_sea["Pmin psi"][0] == pytest.approx(29.42, abs=0.011)


def test_worksheets_hold_dates_as_dates_and_pressures_in_bar(tmp_path):
    path = tmp_path / "log.xlsx"
    path.write_bytes(spreadsheet.encode(table(spreadsheet.cycles(SITE), CYCLE), "T", untouched))
    title, header, row = load_workbook(path).get_sheet_by_name("Log").to_python()
    told = dict(zip(header, row, strict=True))
    assert title[0] == "T"
    assert told["Started"] == datetime(2026, 6, 5, 9, 14, 22)
    assert told["P min bar"] == 3.042
    assert told["Stopped by"] == "Eq-10"


def test_json_lines_nest_and_tell_the_offset():
    data = jsonlines.encode(table(jsonlines.cycles(SITE), CYCLE), "", untouched)
    told = json.loads(data)
    assert told["unit"] == {"serial": "SI-0042", "count": 4312}
    assert told["time"]["begin"] == "2026-06-05T09:14:22+01:00"
    assert told["hold"]["p_low"] == 3042.0
    assert told["leak"] is None


def test_a_strip_prints_what_there_is_and_then_the_readings():
    readings = pl.DataFrame({"at": [0, 5], "celsius": [48.0, 48.64], "kpa": [101.3, 101.3]})
    lines = printout.strip(told_in(printout), readings, "Gannet Quay").decode().splitlines()
    assert lines[0] == "CYCLE REPORT"
    assert "Start: 05/06/2026 09:14:22" in lines
    assert lines[-1] == "5 48.6 1.013"
    assert not [line for line in lines if "None" in line]


@pytest.mark.parametrize("shape", SHAPES)
def test_each_shape_declares_what_it_writes(shape):
    layout = SHAPES[shape].cycles(SITE)
    targets = [field.target for field in layout]
    headers = [field.header for field in layout]
    assert len(set(targets)) == len(targets)
    assert len(set(headers)) == len(headers)
    assert {"unit_serial", "cycle_number", "program", "started", "outcome"} <= set(targets)


def test_no_two_reasons_share_a_word():
    for mapping in (words.PLAIN_REASONS, words.LETTERED_REASONS, words.NUMBERED_REASONS):
        assert len(set(mapping.values())) == len(mapping)
