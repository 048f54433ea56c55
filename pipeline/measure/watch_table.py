"""The rows of measure.watch, measure.watch_skill and measure.watch_band."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import cache

import duckdb
import numpy as np
import polars as pl

from pipeline.base.message import Message, declared_message, message
from pipeline.measure.catalogue import Feature, Measure, Watch
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.resets import Resets
from pipeline.measure.stop_chart import StopChart
from pipeline.measure.tables import read, write
from pipeline.measure.watch import WatchList, lead_days, watch_list
from pipeline.measure.watch_signals import SIGNALS
from pipeline.measure.watch_skill import TOP, Skill, bands, skill
from pipeline.measure.wear_excess import WearExcess


def write_watch(
    con: duckdb.DuckDBPyConnection,
    as_of: date,
    units: DayCounts,
    resets: Resets,
    chart: StopChart,
    wear: WearExcess,
    features: tuple[Feature, ...],
    judged: Measure,
) -> None:
    """Make the list and say how good the past ones were; `wear` has seen all portions."""
    assert judged.signal and judged.watch, f"{judged.measure}.toml has no [signal] or no [watch]"
    repairs = read_repairs(con, units.subjects)
    found = watch_list(units, resets, chart, wear, repairs, as_of, judged.signal, judged.watch)
    write(con, "watch", watch_rows(con, units, chart, found, features, judged.watch))
    write(con, "watch_skill", skill_rows(found))
    write(con, "watch_band", band_rows(found))


def read_repairs(con: duckdb.DuckDBPyConnection, units: list[str]) -> dict[int, list[int]]:
    """Days of repairs, as ordinals in order, by the unit's position among these."""
    position = {unit: index for index, unit in enumerate(units)}
    found: dict[int, list[int]] = {}
    for unit, done_on in con.execute(
        "SELECT DISTINCT unit_serial, done_on FROM model.task WHERE kind = 'repair' ORDER BY ALL"
    ).fetchall():
        if unit in position:
            found.setdefault(position[unit], []).append(done_on.toordinal())
    return found


def watch_rows(
    con: duckdb.DuckDBPyConnection,
    counts: DayCounts,
    chart: StopChart,
    found: WatchList,
    features: tuple[Feature, ...],
    watch: Watch,
) -> pl.DataFrame:
    """Rows of measure.watch: units in service that were heard of, the likeliest to fail first."""
    titles = {one.feature: one.title for one in features}
    names = [SIGNALS[index] for index in found.contributions().argmax(axis=1).tolist()]
    say = cache(message)  # many units have the same counts
    rows = pl.DataFrame(
        {
            "unit_serial": counts.subjects,
            # Rounded, so that rounding of the last bit on another machine reorders nobody.
            "probability": found.said.round(12),
            "signal": names,
            "why": [
                _why(found, chart, titles, say, name, index) for index, name in enumerate(names)
            ],
            "is_listed": found.said >= watch.least_probability,
        },
        schema_overrides={"unit_serial": pl.String, "signal": pl.String, "why": pl.String},
    )
    heard = read(con, "SELECT unit_serial, site_id FROM fact.coverage WHERE state = 'usual'")
    return (
        rows.join(heard, on="unit_serial")
        .sort("probability", "unit_serial", descending=[True, False])
        .with_row_index("position", offset=1)
    )


def _why(
    found: WatchList,
    chart: StopChart,
    titles: dict[str, str],
    say: Callable[..., Message],
    name: str,
    index: int,
) -> Message:
    """The signal that says most, in a sentence with its counts."""
    recent, known = found.known.recent, found.known
    feature = known.feature[index]
    if name == "wear" and feature:
        return say(
            "watch_why.wear",
            feature=declared_message(f"feature.{feature}.title", titles[feature]),
            sigmas=Decimal(f"{known.excess[index]:.1f}"),
        )
    if name == "week" and recent.short.stopped[index]:
        stopped, run = int(recent.short.stopped[index]), int(recent.short.run[index])
        return say("watch_why.week", stopped, run=run)
    if name in ("chart", "month") and recent.long.stopped[index]:
        stopped, run = int(recent.long.stopped[index]), int(recent.long.run[index])
        return say("watch_why.month", stopped, run=run)
    if name == "chart" and chart.levels[index, -1] > 0:
        return say("watch_why.chart", share=Decimal(f"{100 * chart.levels[index, -1]:.0f}"))
    return say("watch_why.usual", share=Decimal(f"{100 * recent.usual_share[index]:.1f}"))


def skill_rows(found: WatchList) -> pl.DataFrame:
    """Rows of measure.watch_skill: the list, and each single signal by itself."""
    editions = [one for one in found.past if one.outcome.is_seen.any()]
    failed = [one.outcome.is_failed[one.outcome.is_seen] for one in editions]
    total = int(sum(one.sum() for one in failed))
    count = sum(len(one) for one in failed)
    if not 0 < total < count:
        return pl.DataFrame()
    said = [one.said[one.outcome.is_seen] for one in editions]
    lead = lead_days(editions, TOP)
    rows = [_skill_row("list", skill(list(zip(said, failed, strict=True)), is_probability=True))]
    for column, name in enumerate(SIGNALS):
        scores = [one.known.signals[one.outcome.is_seen, column] for one in editions]
        alone = skill(list(zip(scores, failed, strict=True)), is_probability=False)
        rows.append(_skill_row(name, alone))
    return pl.DataFrame(rows, infer_schema_length=None).with_columns(
        edition_count=pl.lit(len(editions)),
        unit_count=pl.lit(count),
        failed_count=pl.lit(total),
        lead_days=pl.when(pl.col("signal") == "list").then(
            pl.lit(float(np.median(lead)) if lead else None, dtype=pl.Float64)
        ),
    )


def _skill_row(name: str, one: Skill) -> dict[str, object]:
    return {
        "signal": name,
        "brier": one.brier,
        "brier_of_base_rate": one.brier_of_base_rate,
        "area": one.area,
        "precision_share": one.precision,
    }


def band_rows(found: WatchList) -> pl.DataFrame:
    """Rows of measure.watch_band: what past editions said, and what was seen."""
    said = [one.said[one.outcome.is_seen] for one in found.past]
    failed = [one.outcome.is_failed[one.outcome.is_seen] for one in found.past]
    if not said:
        return pl.DataFrame()
    return pl.DataFrame(
        [
            {
                "low_share": band.low,
                "high_share": band.high,
                "said_share": band.said,
                "unit_count": band.unit_count,
                "failed_count": band.failed_count,
            }
            for band in bands(np.concatenate(said), np.concatenate(failed))
        ]
    )
