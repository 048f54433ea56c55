"""Strips of paper, one a cycle: `name: value` lines, and the readings below, if there are any."""

import polars as pl

from pipeline.demo.layout import Field, Layout, local, number
from pipeline.demo.shapes import words
from pipeline.demo.sites import Place

SUFFIX = "txt"
FORMAT = ", ".join(
    [
        '{ kind = "printout"',
        "begin = '^CYCLE REPORT'",
        r"field = '^(?P<name>[^:]+):\s*(?P<value>.*)$'",
        r"row = '^(?P<at>\d+) (?P<temp>[\d.]+) (?P<press>[\d.]+)$' }",
    ]
)
TIME_ZONE = "site"
READING_COLUMNS = """
elapsed_seconds = "at"
chamber_celsius = "temp"
chamber_kpa = { from = "press", unit = "bar" }
"""

_SLASHED = "%d/%m/%Y %H:%M:%S"


def cycles(site: Place) -> Layout:
    """A run a strip, in the order of the run, so that a torn strip has no result.

    `optional` is what may not be printed.
    """
    time = f'format = "{_SLASHED}"'
    outcomes = {"complete": "finished", "stopped": "stopped", "failed": "fault"}

    def optional(target: str, header: str, value: pl.Expr, declared: str = "") -> Field:
        return Field(
            target, header, value, declared=", ".join(filter(None, [declared, "optional = true"]))
        )

    return (
        Field("unit_serial", "Unit", pl.col("unit_serial")),
        Field("cycle_number", "Cycle", pl.col("cycle_number")),
        Field("program", "Program", pl.col("program"), words.TITLED_PROGRAMS),
        Field("started", "Start", local("started", site.time_zone, _SLASHED), declared=time),
        optional("set_celsius", "Set C", pl.col("set_celsius")),
        optional("hold_seconds", "Hold s", pl.col("hold_seconds")),
        optional("hold_min_celsius", "Lowest C", number("hold_min_celsius", 1)),
        optional("hold_max_celsius", "Highest C", number("hold_max_celsius", 1)),
        optional("hold_min_kpa", "Lowest kPa", number("hold_min_kpa", 1)),
        optional("hold_max_kpa", "Highest kPa", number("hold_max_kpa", 1)),
        optional("heat_up_seconds", "Heating s", pl.col("heat_up_seconds")),
        optional("drying_seconds", "Drying s", pl.col("drying_seconds")),
        Field("ended", "End", local("ended", site.time_zone, _SLASHED), declared=time),
        Field("outcome", "Result", pl.col("outcome"), outcomes),
        Field(
            "stop_reason",
            "Reason",
            pl.col("stop_reason"),
            words.PLAIN_REASONS,
            f"{words.UNKNOWN_OTHERWISE}, optional = true",
        ),
        optional("load_id", "Load", pl.col("load_id")),
        optional("chemical_indicator", "Indicator", pl.col("chemical_indicator")),
        optional("released", "Released", pl.col("released")),
        optional("operator_code", "Operator", pl.col("operator_code")),
    )


def strip(run: dict[str, object], readings: pl.DataFrame | None, title: str) -> bytes:
    """The bytes of one cycle's strip; what the run did not reach is not printed."""
    lines = ["CYCLE REPORT", f"Clinic: {title}"]
    lines += [f"{name}: {value}" for name, value in run.items() if value is not None]
    if readings is not None:
        lines.append("Readings: seconds, C, bar")
        lines += [
            f"{at} {celsius:.1f} {kpa / 100:.3f}" for at, celsius, kpa in readings.iter_rows()
        ]
    return ("\n".join(lines) + "\n").encode()
