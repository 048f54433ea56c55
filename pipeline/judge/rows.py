"""The rows of judge.cycle, made from what was asked, what was seen and what follows from both."""

from collections.abc import Iterable
from dataclasses import fields
from enum import IntEnum
from typing import Any

import numpy as np
import polars as pl

from pipeline.judge.asked import Asked
from pipeline.physics.evidence import Evidence, Source
from pipeline.physics.measured import Measured
from pipeline.physics.phases import Phase
from pipeline.physics.reason import Codes, Flags, Floats, Reason, Whole
from pipeline.physics.theoretical import Meaning
from pipeline.physics.verdict import Limit, Verdict, Verdicts

_AT = {
    "air_removal_at": Phase.AIR_REMOVAL,
    "heat_up_at": Phase.HEAT_UP,
    "hold_at": Phase.HOLD,
    "exhaust_at": Phase.EXHAUST,
    "drying_at": Phase.DRYING,
    "vent_at": Phase.VENT,
}
_OF_PROBE = (
    "saturation_kelvin", "f0_minutes", "f0_celsius", "f0_kelvin", "shown_seconds",
    "possible_seconds", "hold_min_celsius", "hold_max_celsius", "hot_seconds",
    "overshoot_kelvin",
)  # fmt: skip
_WEAR = {
    "heat_up_seconds": "heat_up_seconds",
    "equilibration_seconds": "equilibration_seconds",
    "exhaust_seconds": "exhaust_seconds",
    "drying_seconds": "drying_seconds",
    "total_seconds": "total_seconds",
    "hot_seconds": "hot_seconds",
    "air_removal_min_kpa": "depth_kpa",
    "leak_kpa_per_minute": "leak_kpa_per_minute",
    "overshoot_kelvin": "overshoot_kelvin",
}


def cycle_rows(
    asked: Asked,
    measured: Measured,
    rows: Whole,
    evidence: Evidence,
    verdicts: Verdicts,
    frozen: Flags,
) -> pl.DataFrame:
    """One row for each cycle of which something is asked or that has readings.

    `rows` are the places in `asked` of the cycles that `measured` and `frozen` are about.
    """
    is_seen = spread_out(np.ones(len(rows)), rows, len(asked), 0.0) > 0
    of_log = asked.rows.select(
        "cycle_id", "unit_serial", "month", "program", "started_on", "week_on", "outcome",
        "is_load_cycle", "lacking", "limits_from", "row_celsius",
        "low_celsius", "high_celsius", "needed_seconds", "needs_penetration_time", "doubt",
    )  # fmt: skip
    told = of_log.with_columns(
        judged_from=words(Source, evidence.sources),
        verdict=words(Verdict, verdicts.verdicts),
        broken=words(Limit, verdicts.broken),
        broken_by=verdicts.amounts,
        reason=reasons_of(asked, evidence, verdicts, spread_out(frozen, rows, len(asked), 0.0)),
        shown_seconds=evidence.hold_seconds,
        saturation_kelvin=evidence.departure_kelvin,
        saturation_means=words(Meaning, evidence.meanings),
        ambient_kpa=asked.ambient_kpa,
        **{name: spread_out(values, rows, len(asked)) for name, values in _measured(measured)},
    )
    meets, breaks = pl.col("verdict") == "meets", pl.col("verdict") == "breaks"
    needs_more = meets & pl.col("needs_penetration_time")
    is_torn = ~breaks & pl.col("doubt").is_not_null()
    doubted = (pl.col("reason") == "frozen_probe") | needs_more | is_torn
    return (
        told.with_columns(
            verdict=pl.when(pl.col("lacking") == "not_asked")
            .then(pl.lit("not_asked"))
            .when(doubted)
            .then(pl.lit("cannot_tell"))
            .otherwise("verdict"),
            reason=pl.when(is_torn)
            .then("doubt")
            .when(needs_more)
            .then(pl.lit("penetration_time"))
            .otherwise("reason"),
        )
        .with_columns(
            reason=pl.when(pl.col("verdict") == "cannot_tell").then("reason"),
            broken=pl.when(breaks).then("broken"),
            broken_by=pl.when(breaks).then("broken_by"),
            f0_celsius=pl.when(pl.col("f0_minutes").is_not_nan()).then(
                pl.lit(measured.lethality.reference_celsius)
            ),
            f0_kelvin=pl.when(pl.col("f0_minutes").is_not_nan()).then(
                pl.lit(measured.lethality.z_kelvin)
            ),
            reading_count=pl.col("reading_count").fill_nan(0).cast(pl.Int64),
            pulse_count=pl.col("pulse_count").fill_nan(None).cast(pl.Int64),
        )
        .filter((pl.col("verdict") != "not_asked") | pl.Series(is_seen))
        .drop("lacking", "needs_penetration_time", "doubt")
        .with_columns(pl.col(pl.Float64).fill_nan(None))
        .with_columns(
            # What a probe tells that stands still is no figure of any cycle.
            pl.when(pl.col("reason") == "frozen_probe").then(None).otherwise(name).alias(name)
            for name in _OF_PROBE
        )
    )


def words(codes: type[IntEnum], values: Codes) -> pl.Series:
    """The word of each code, its name in small letters."""
    names = [one.name.lower() for one in codes]
    return pl.Series(np.asarray(names, dtype=object)[values], dtype=pl.String)


def spread_out(values: Any, rows: Whole, size: int, otherwise: float = np.nan) -> Floats:
    """Values of some rows laid into a column of all of them."""
    out = np.full(size, otherwise)
    out[rows] = values
    return out


def laid_out(some: Evidence, rows: Whole, size: int) -> Evidence:
    """Evidence of some rows laid into that of all; the others have no source."""
    columns: dict[str, Any] = {}
    for one in fields(Evidence):
        values = getattr(some, one.name)
        column = np.zeros(size, dtype=values.dtype)
        if values.dtype == np.float64:
            column.fill(np.nan)
        column[rows] = values
        columns[one.name] = column
    return Evidence(**columns)


def reasons_of(asked: Asked, evidence: Evidence, verdicts: Verdicts, frozen: Floats) -> pl.Series:
    """Why each cycle cannot be told, as exactly as is known."""
    limits, logged = asked.limits, asked.logged
    is_hold = ~np.isnan(limits.hold_seconds)
    lacks_hold = is_hold & (
        np.isnan(logged.hold_seconds)
        | np.isnan(logged.hold_min_celsius)
        | (np.isfinite(limits.high_celsius) & np.isnan(logged.hold_max_celsius))
    )
    lacks_kpa = is_hold & np.isnan(evidence.departure_kelvin)
    named = pl.DataFrame(
        {
            "word": words(Reason, verdicts.reasons),
            "lacking": asked.rows["lacking"],
            "source": words(Source, evidence.sources),
            "hold": lacks_hold,
            "kpa": lacks_kpa,
            "frozen": frozen > 0,
            "is_leak_test": asked.is_leak_test,
        }
    )
    not_logged = pl.col("word") == "not_logged"
    return named.select(
        pl.when(pl.col("lacking").is_not_null())
        .then("lacking")
        .when(pl.col("frozen"))
        .then(pl.lit("frozen_probe"))
        .when(not_logged & (pl.col("source") == "nothing"))
        .then(pl.lit("nothing_logged"))
        .when(not_logged & pl.col("is_leak_test"))
        .then(pl.lit("leak_not_logged"))
        .when(not_logged & pl.col("hold"))
        .then(pl.lit("hold_not_logged"))
        .when(not_logged & pl.col("kpa"))
        .then(pl.lit("pressure_not_logged"))
        .otherwise("word")
        .alias("reason")
    ).to_series()


def _measured(measured: Measured) -> Iterable[tuple[str, Any]]:
    hold, phases = measured.hold, measured.phases
    yield "possible_seconds", hold.possible_seconds
    yield "hold_min_celsius", hold.min_celsius
    yield "hold_max_celsius", hold.max_celsius
    yield "f0_minutes", measured.lethality.minutes
    yield "step_seconds", measured.lethality.step_seconds
    yield "reading_count", measured.wear.reading_count
    is_told = phases.reasons == Reason.NONE
    yield "pulse_count", np.where(is_told, phases.pulse_count, np.nan)
    for name, phase in _AT.items():
        yield name, phases.begin_seconds[:, phase]
    for name, feature in _WEAR.items():
        yield name, getattr(measured.wear, feature)
