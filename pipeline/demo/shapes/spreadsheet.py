"""Worksheets: dates are dates, pressures are bar, reasons are lettered."""

from collections.abc import Callable
from datetime import datetime
from io import BytesIO
from typing import cast

import polars as pl
import xlsxwriter

from pipeline.demo.layout import Field, Layout, number
from pipeline.demo.shapes import words
from pipeline.demo.sites import Place
from pipeline.demo.spoiling import Spoil

SUFFIX, SHEET = "xlsx", "Log"
FORMAT = '{ kind = "spreadsheet", sheet = "Log", header_line = 2 }'
TIME_ZONE = "site"
_CREATED = datetime(2025, 1, 1)
_OPTIONS = {
    "in_memory": True,
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "default_date_format": "yyyy-mm-dd hh:mm:ss",
}


def cycles(site: Place) -> Layout:
    """A run a row."""
    outcomes = {"complete": "Complete", "stopped": "Stopped", "failed": "Failed"}

    def wall_clock(target: str, header: str) -> Field:
        instant = pl.col(target).dt.replace_time_zone("UTC").dt.convert_time_zone(site.time_zone)
        return Field(target, header, instant.dt.replace_time_zone(None))

    def bar(target: str, header: str, unit: str = "bar") -> Field:
        return Field(target, header, number(target, 4, factor=0.01), declared=f'unit = "{unit}"')

    return (
        Field("unit_serial", "Serial", pl.col("unit_serial")),
        Field("cycle_number", "Cycle", pl.col("cycle_number")),
        Field("program", "Program", pl.col("program"), words.TITLED_PROGRAMS),
        wall_clock("started", "Started"),
        wall_clock("ended", "Ended"),
        Field("outcome", "Outcome", pl.col("outcome"), outcomes),
        Field(
            "stop_reason",
            "Stopped by",
            pl.col("stop_reason"),
            words.LETTERED_REASONS,
            words.UNKNOWN_OTHERWISE,
        ),
        Field("set_celsius", "Set C", pl.col("set_celsius")),
        Field("hold_seconds", "Hold s", pl.col("hold_seconds")),
        Field("hold_min_celsius", "T min C", number("hold_min_celsius", 1)),
        Field("hold_max_celsius", "T max C", number("hold_max_celsius", 1)),
        bar("hold_min_kpa", "P min bar"),
        bar("hold_max_kpa", "P max bar"),
        bar("air_removal_min_kpa", "Deepest bar"),
        Field("heat_up_seconds", "Heating s", pl.col("heat_up_seconds")),
        Field("drying_seconds", "Drying s", pl.col("drying_seconds")),
        bar("leak_kpa_per_minute", "Leak bar/min", "bar/min"),
        Field("load_id", "Load", pl.col("load_id")),
        Field("chemical_indicator", "Indicator", pl.col("chemical_indicator")),
        Field("released", "Released", pl.col("released")),
        Field("note", "Note", pl.col("note")),
    )


def encode(rows: pl.DataFrame, title: str, spoil: Spoil) -> bytes:
    """The bytes of a workbook with one sheet: a title, a header, the rows. Nothing spoils it."""
    del spoil
    stream = BytesIO()
    with xlsxwriter.Workbook(stream, _OPTIONS) as book:
        # The hour of writing would be in the bytes otherwise.
        book.set_properties({"created": _CREATED})
        sheet = book.add_worksheet(SHEET)
        sheet.write_string(0, 0, title)
        sheet.write_row(1, 0, rows.columns)
        writers = [_writer(sheet, dtype) for dtype in rows.dtypes]
        for line, row in enumerate(rows.iter_rows(), start=2):
            for column, (write, value) in enumerate(zip(writers, row, strict=True)):
                if value is not None:
                    write(line, column, value)
    return stream.getvalue()


def _writer(sheet: xlsxwriter.worksheet.Worksheet, dtype: pl.DataType) -> Callable[..., int]:
    """How cells of a type are written: chosen once a column, not once a cell."""
    if dtype.is_temporal():
        return cast(Callable[..., int], sheet.write_datetime)
    writer = sheet.write_number if dtype.is_numeric() else sheet.write_string
    return cast(Callable[..., int], writer)
