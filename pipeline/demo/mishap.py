"""Cycles that were not as their program asks though said complete, and readings gone wrong.

All by scenario, none by chance, so that the truth can name each of them.
"""

from datetime import timedelta

import polars as pl

from pipeline.demo import programs
from pipeline.demo.scenario import Kind, Scenario
from pipeline.demo.streams import Floats
from pipeline.demo.window import Window
from pipeline.physics.steam import saturation_celsius, saturation_kpa

TRACE_FAULTS = [
    kind.name.lower()
    for kind in (Kind.FAHRENHEIT, Kind.GAUGE, Kind.DROPPED, Kind.FROZEN, Kind.JUMP)
]
_MISHAPS = (*TRACE_FAULTS, "short", "air", "echo", "copy")
_MOST_CYCLES = 4
_SHORTER_SECONDS = 50
_AIR_KELVIN, _HOTTER_KELVIN = 2.8, 2.4
_LOST_SECONDS, _BACK_SECONDS = 90, 30


def with_mishaps(cycles: pl.DataFrame, bound: dict[Kind, Scenario], window: Window) -> pl.DataFrame:
    """The cycles with what is bound to go wrong with them, named in the column _mishap."""
    kind = next((kind for kind in bound if kind.name.lower() in _MISHAPS), None)
    if kind is None:
        return cycles.with_columns(_mishap=pl.lit(None, pl.String))
    is_load = cycles["_has_steam"] & cycles["load_id"].is_not_null()
    is_hit = is_load & (cycles["outcome"] == "complete")
    if kind is not Kind.ECHO:
        since = window.ends_on - timedelta(days=bound[kind].since_days)
        is_hit &= cycles["started"].dt.date() > since
        if kind is Kind.COPY:
            is_hit &= cycles["program"] == cycles["program"].filter(is_hit).last()
        is_hit &= is_hit.cast(pl.Int64).cum_sum(reverse=True) <= _MOST_CYCLES
    named = pl.when(pl.Series(is_hit)).then(pl.lit(kind.name.lower()))
    cycles = cycles.with_columns(_mishap=named.otherwise(None))
    changed = _CHANGES[kind](cycles) if kind in _CHANGES else {}
    return cycles.with_columns(
        pl.when(pl.col("_mishap").is_not_null()).then(value).otherwise(pl.col(name)).alias(name)
        for name, value in changed.items()
    )


def damaged(readings: pl.DataFrame, cycles: pl.DataFrame, outside_kpa: float) -> pl.DataFrame:
    """The readings of these cycles as they were logged, with what is wrong with those of some."""
    key = ["unit_serial", "cycle_number"]
    hit = cycles.filter(pl.col("_mishap").is_in(TRACE_FAULTS))
    if hit.is_empty():
        return readings
    bounds = hit.select(*key, "_mishap", begins="_bound_3", ends="_bound_4")
    rows = readings.join(bounds, on=key, how="left", maintain_order="left")
    celsius, kpa, at = pl.col("chamber_celsius"), pl.col("chamber_kpa"), pl.col("elapsed_seconds")
    middle = (pl.col("begins") + pl.col("ends")) / 2
    fault, stood = pl.col("_mishap"), celsius.filter(at >= middle).first().over(key)
    rows = rows.with_columns(
        chamber_celsius=pl.when(fault == "fahrenheit")
        .then((celsius * 1.8 + 32).round(2))
        .when((fault == "frozen") & (at >= middle))
        .then(stood)
        .otherwise(celsius),
        chamber_kpa=pl.when(fault == "gauge").then((kpa - outside_kpa).round(2)).otherwise(kpa),
        elapsed_seconds=pl.when((fault == "jump") & (at >= middle))
        .then(at - _BACK_SECONDS)
        .otherwise(at),
    )
    is_lost = (fault == "dropped") & at.is_between(middle, middle + _LOST_SECONDS)
    return rows.filter(~is_lost.fill_null(False)).select(readings.columns)


def _short(cycles: pl.DataFrame) -> dict[str, pl.Expr]:
    later = [f"_bound_{phase}" for phase in range(4, 8)]
    cut = {name: pl.col(name) - _SHORTER_SECONDS for name in ("hold_seconds", *later)}
    return cut | {"ended": pl.col("ended") - timedelta(seconds=_SHORTER_SECONDS)}


def _air(cycles: pl.DataFrame) -> dict[str, pl.Expr]:
    """The controller goes by its probe, so the pressure rises until that shows enough."""
    low, high = (_hotter_kpa(cycles[name]) for name in ("hold_min_kpa", "hold_max_kpa"))
    moved = _HOTTER_KELVIN - _AIR_KELVIN
    return {
        "hold_min_celsius": pl.col("hold_min_celsius") + moved,
        "hold_max_celsius": pl.col("hold_max_celsius") + moved,
        "hold_min_kpa": pl.lit(pl.Series(low)),
        "hold_max_kpa": pl.lit(pl.Series(high)),
        "_plateau_celsius": pl.col("_plateau_celsius") + _HOTTER_KELVIN,
        "_offset_kelvin": pl.col("_offset_kelvin") - _AIR_KELVIN,
    }


def _echo(cycles: pl.DataFrame) -> dict[str, pl.Expr]:
    held = {one.name: float(one.hold_seconds) for one in programs.PROGRAMS}
    printed = pl.lit(pl.Series(saturation_kpa(cycles["set_celsius"].to_numpy())))
    return {
        "hold_seconds": pl.col("program").replace_strict(held, return_dtype=pl.Float64),
        "hold_min_celsius": pl.col("set_celsius"),
        "hold_max_celsius": pl.col("set_celsius"),
        "hold_min_kpa": printed,
        "hold_max_kpa": printed,
    }


def _copy(cycles: pl.DataFrame) -> dict[str, pl.Expr]:
    is_hit = pl.col("_mishap").is_not_null()
    printed = (
        "hold_seconds", "hold_min_celsius", "hold_max_celsius", "hold_min_kpa", "hold_max_kpa",
        "air_removal_min_kpa", "heat_up_seconds", "drying_seconds",
    )  # fmt: skip
    lasted = (pl.col("ended") - pl.col("started")).filter(is_hit).first()
    values = {name: pl.col(name).filter(is_hit).first() for name in printed}
    return values | {"ended": pl.col("started") + lasted}


def _hotter_kpa(kpa: pl.Series) -> Floats:
    """What the pressure is when the steam is hotter by what the controller adds."""
    return saturation_kpa(saturation_celsius(kpa.to_numpy()) + _HOTTER_KELVIN)


_CHANGES = {Kind.SHORT: _short, Kind.AIR: _air, Kind.ECHO: _echo, Kind.COPY: _copy}
