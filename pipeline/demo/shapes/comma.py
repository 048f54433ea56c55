"""Comma-separated values in our own words and units, instants in UTC: a tidy export."""

import polars as pl

from pipeline.demo.layout import Field, Layout, number, plain, utc
from pipeline.demo.sites import Place
from pipeline.demo.spoiling import Spoil

SUFFIX, HEADER_LINES, DECIMAL = "csv", 1, "."
FORMAT = '{ kind = "delimited", separator = "," }'
TIME_ZONE = "UTC"


def cycles(site: Place) -> Layout:
    """A run a line; no site has words of its own here."""
    del site
    quantities = ("hold_min_celsius", "hold_max_celsius", "hold_min_kpa", "hold_max_kpa")
    return (
        *plain("unit_serial", "cycle_number", "program"),
        Field("started", "started", utc("started")),
        Field("ended", "ended", utc("ended")),
        *plain("outcome", "stop_reason", "set_celsius", "hold_seconds"),
        *(Field(name, name, number(name, 2)) for name in (*quantities, "air_removal_min_kpa")),
        *plain("heat_up_seconds", "drying_seconds"),
        Field("leak_kpa_per_minute", "leak_kpa_per_minute", number("leak_kpa_per_minute", 3)),
        Field("conductivity_us_per_cm", "water_us_per_cm", number("conductivity_us_per_cm", 1)),
        *plain("load_id", "load_kind", "chemical_indicator", "released", "operator_code", "note"),
    )


def encode(rows: pl.DataFrame, title: str, spoil: Spoil) -> bytes:
    """The bytes of a file; it has no room for the title."""
    del title
    return spoil(rows.write_csv(), HEADER_LINES, DECIMAL).encode()
