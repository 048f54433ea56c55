"""Semicolons, decimal commas, cp1252, the clock on the wall, degrees Fahrenheit, psi by gauge."""

import polars as pl

from pipeline.base.quantity import standard_atmosphere_kpa
from pipeline.demo.layout import Field, Layout, local, number
from pipeline.demo.shapes import words
from pipeline.demo.sites import Place
from pipeline.demo.spoiling import Spoil

SUFFIX, HEADER_LINES, DECIMAL = "csv", 3, ","
FORMAT = (
    '{ kind = "delimited", separator = ";", decimal = ",", encoding = "cp1252", header_line = 3 }'
)
TIME_ZONE = "site"

_KPA_A_PSI = 6.894757
_DAY_FIRST = "%d.%m.%Y %H:%M:%S"


def cycles(site: Place) -> Layout:
    """A run a line, in the units of the site: gauge pressures depend on its altitude."""
    outside = standard_atmosphere_kpa(site.altitude_m)
    time = f'format = "{_DAY_FIRST}"'

    def fahrenheit(target: str, header: str) -> Field:
        value = number(target, 1, factor=1.8, offset=32)
        return Field(target, header, value, declared='unit = "degF"')

    def gauge(target: str, header: str) -> Field:
        value = number(target, 2, factor=1 / _KPA_A_PSI, offset=-outside / _KPA_A_PSI)
        return Field(target, header, value, declared='unit = "psi", gauge = true')

    held = pl.col("hold_seconds").cast(pl.Int64)
    clock = pl.format("{}:{}", held // 60, (held % 60).cast(pl.String).str.zfill(2))
    leak = number("leak_kpa_per_minute", 4, factor=1 / _KPA_A_PSI)
    outcomes = {"complete": "OK", "stopped": "Stop", "failed": "Fault"}
    minutes = number("drying_seconds", 2, factor=1 / 60)
    return (
        Field("unit_serial", "Unit", pl.col("unit_serial")),
        Field("cycle_number", "No", pl.col("cycle_number")),
        Field("program", "Program", pl.col("program"), words.TITLED_PROGRAMS),
        Field("started", "Start", local("started", site.time_zone, _DAY_FIRST), declared=time),
        Field("ended", "End", local("ended", site.time_zone, _DAY_FIRST), declared=time),
        Field("outcome", "Result", pl.col("outcome"), outcomes),
        Field(
            "stop_reason",
            "Reason",
            pl.col("stop_reason"),
            words.PLAIN_REASONS,
            words.UNKNOWN_OTHERWISE,
        ),
        fahrenheit("set_celsius", "Set °F"),
        Field("hold_seconds", "Hold", clock, declared='unit = "mm:ss"'),
        fahrenheit("hold_min_celsius", "Tmin °F"),
        fahrenheit("hold_max_celsius", "Tmax °F"),
        gauge("hold_min_kpa", "Pmin psi"),
        gauge("hold_max_kpa", "Pmax psi"),
        gauge("air_removal_min_kpa", "Vacuum psi"),
        Field("heat_up_seconds", "Heating s", pl.col("heat_up_seconds")),
        Field("drying_seconds", "Drying min", minutes, declared='unit = "min"'),
        Field("leak_kpa_per_minute", "Leak psi/min", leak, declared='unit = "psi/min"'),
        Field("conductivity_us_per_cm", "Water µS/cm", number("conductivity_us_per_cm", 1)),
        Field("load_id", "Load", pl.col("load_id")),
        Field("load_kind", "Load kind", pl.col("load_kind")),
        Field("chemical_indicator", "Strip", pl.col("chemical_indicator")),
        Field("released", "Released", pl.col("released")),
        Field("operator_code", "By", pl.col("operator_code")),
        Field("note", "Remark", pl.col("note")),
    )


def encode(rows: pl.DataFrame, title: str, spoil: Spoil) -> bytes:
    """The bytes of a file: two lines of title, a header, and line ends of the clinic's machine."""
    text = rows.write_csv(separator=";", decimal_comma=True)
    text = f"{title}\nCycle log – temperatures in °F\n{text}"
    return spoil(text, HEADER_LINES, DECIMAL).replace("\n", "\r\n").encode("cp1252")
