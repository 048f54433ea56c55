"""JSON lines: objects within objects, instants with their offset, pressures in mbar."""

import polars as pl

from pipeline.demo.layout import Field, Layout, local, number
from pipeline.demo.shapes import words
from pipeline.demo.sites import Place
from pipeline.demo.spoiling import Spoil

SUFFIX, HEADER_LINES, DECIMAL = "jsonl", 0, "."
FORMAT = '{ kind = "jsonlines" }'
TIME_ZONE = "site"


def cycles(site: Place) -> Layout:
    """A run an object; programs and reasons are numbers."""
    outcomes = {"complete": "done", "stopped": "cut", "failed": "fault"}
    offset = "%Y-%m-%dT%H:%M:%S%:z"

    def mbar(target: str, header: str, unit: str = "mbar") -> Field:
        return Field(target, header, number(target, 2, factor=10), declared=f'unit = "{unit}"')

    return (
        Field("unit_serial", "unit.serial", pl.col("unit_serial")),
        Field("cycle_number", "unit.count", pl.col("cycle_number")),
        Field("program", "program", pl.col("program"), words.NUMBERED_PROGRAMS),
        Field("started", "time.begin", local("started", site.time_zone, offset)),
        Field("ended", "time.end", local("ended", site.time_zone, offset)),
        Field("outcome", "result.how", pl.col("outcome"), outcomes),
        Field(
            "stop_reason",
            "result.why",
            pl.col("stop_reason"),
            words.NUMBERED_REASONS,
            words.UNKNOWN_OTHERWISE,
        ),
        Field("set_celsius", "hold.set", pl.col("set_celsius")),
        Field("hold_seconds", "hold.seconds", pl.col("hold_seconds")),
        Field("hold_min_celsius", "hold.t_low", number("hold_min_celsius", 2)),
        Field("hold_max_celsius", "hold.t_high", number("hold_max_celsius", 2)),
        mbar("hold_min_kpa", "hold.p_low"),
        mbar("hold_max_kpa", "hold.p_high"),
        mbar("air_removal_min_kpa", "vacuum"),
        Field("heat_up_seconds", "seconds.heating", pl.col("heat_up_seconds")),
        Field("drying_seconds", "seconds.drying", pl.col("drying_seconds")),
        mbar("leak_kpa_per_minute", "leak", "mbar/min"),
        Field("conductivity_us_per_cm", "water", number("conductivity_us_per_cm", 1)),
        Field("load_id", "load.id", pl.col("load_id")),
        Field("load_kind", "load.kind", pl.col("load_kind")),
        Field("chemical_indicator", "load.indicator", pl.col("chemical_indicator")),
        Field("released", "load.released", pl.col("released")),
        Field("operator_code", "by", pl.col("operator_code")),
        Field("note", "note", pl.col("note")),
    )


def encode(rows: pl.DataFrame, title: str, spoil: Spoil) -> bytes:
    """The bytes of a file; names with a dot become objects within objects."""
    del title
    groups: dict[str, list[str]] = {}
    for name in rows.columns:
        groups.setdefault(name.partition(".")[0], []).append(name)
    nested = rows.select(
        pl.struct(pl.col(name).alias(name.partition(".")[2]) for name in names).alias(group)
        if "." in names[0]
        else pl.col(group)
        for group, names in groups.items()
    )
    return spoil(nested.write_ndjson(), HEADER_LINES, DECIMAL).encode()
