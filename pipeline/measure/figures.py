"""Rankings: each measure's x of n added up from units to the network, with what is likely.

One code for all levels. Nothing here knows what a measure counts.
"""

import duckdb
import numpy as np
import polars as pl

from pipeline.base.message import Message, message
from pipeline.measure.case_mix import standardised
from pipeline.measure.catalogue import Measure
from pipeline.measure.intervals import wilson_bounds
from pipeline.measure.positions import positions
from pipeline.measure.shrinkage import Prior, fit_prior, shrink
from pipeline.measure.side_by_side import side_by_side
from pipeline.measure.tables import read
from pipeline.measure.window import Window
from pipeline.warehouse.statements import statement

LEVELS = ("network", "region", "site", "unit")


def rankings(
    con: duckdb.DuckDBPyConnection, window: Window, measures: tuple[Measure, ...]
) -> pl.DataFrame:
    """Rows of measure.ranking, for every measure and level."""
    subjects = _subjects(con, window)
    asked = [
        (level, measure, _added_up(counted, level, subjects))
        for measure in measures
        for counted in [_counted(con, window, measure)]
        for level in LEVELS
    ]
    ranked = []
    for (level, measure, _), rows in zip(
        asked, side_by_side(lambda one: _ranked(*one), asked), strict=True
    ):
        if level == "site" and measure.case_mix:
            mix = standardised(con, measure.case_mix)
            rows = rows.join(mix, on="subject_id", how="left", maintain_order="left")
        ranked.append(rows)
    return pl.concat(ranked, how="diagonal")


def _subjects(con: duckdb.DuckDBPyConnection, window: Window) -> pl.DataFrame:
    """Every site and unit in service, so that none is left out for having run nothing."""
    return read(
        con,
        """
        SELECT site_id, region_id, unit_serial,
        FROM model.site
        LEFT JOIN fact.service USING (site_id)
        WHERE opened_on <= $as_of_on AND (closed_on IS NULL OR closed_on > $as_of_on)
        """,
        as_of_on=window.as_of_on,
    )


def _counted(con: duckdb.DuckDBPyConnection, window: Window, measure: Measure) -> pl.DataFrame:
    """What the measure's statement counts, with the places of each unit."""
    select = statement("measure", measure.measure)
    return read(
        con,
        f"""
        SELECT counted.*, site.region_id, 'network' AS network,
        FROM ({select.text}) AS counted
        JOIN model.site AS site USING (site_id)
        """,
        **window.parameters(select.parameters),
    )


def _added_up(counted: pl.DataFrame, level: str, subjects: pl.DataFrame) -> pl.DataFrame:
    """Columns subject_id, numerator, denominator, is_in_service; sorted."""
    column = {"unit": "unit_serial", "network": "network"}.get(level, f"{level}_id")
    in_service = subjects.with_columns(network=pl.lit("network")).select(column).unique()
    return (
        counted.group_by(column)
        .agg(pl.col("numerator").sum(), pl.col("denominator").sum())
        .join(
            in_service.drop_nulls().with_columns(is_in_service=True),
            on=column,
            how="full",
            coalesce=True,
        )
        .with_columns(
            pl.col("numerator", "denominator").fill_null(0),
            pl.col("is_in_service").fill_null(False),
        )
        .rename({column: "subject_id"})
        .sort("subject_id")
    )


def _ranked(level: str, measure: Measure, counted: pl.DataFrame) -> pl.DataFrame:
    events, totals = counted["numerator"].to_numpy(), counted["denominator"].to_numpy()
    low, high = wilson_bounds(events, totals)
    kinds = list(zip(totals.tolist(), counted["is_in_service"], strict=True))
    # Many subjects share a reason, and making a message takes longer than looking one up.
    told = {kind: _reason(level, measure, *kind) for kind in set(kinds)}
    reasons = [told[kind] for kind in kinds]
    rows = counted.drop("is_in_service").with_columns(
        measure=pl.lit(measure.measure),
        level=pl.lit(level),
        share=pl.when(pl.col("denominator") > 0).then(pl.col("numerator") / pl.col("denominator")),
        low=pl.Series(low).fill_nan(None),
        high=pl.Series(high).fill_nan(None),
        reason=pl.Series(reasons, dtype=pl.String),
        is_ranked=pl.Series([reason is None for reason in reasons], dtype=pl.Boolean),
    )
    prior = fit_prior(events, totals) if level != "network" else None
    return rows.with_columns(**_likely(prior, rows), **_positions(prior, measure, rows))


def _reason(level: str, measure: Measure, total: int, is_in_service: bool) -> Message | None:
    """Why a subject is not ranked; None when it is."""
    if level == "network":
        return message("ranking.not_ranked.network")
    if not is_in_service:
        return message("ranking.not_ranked.not_in_service")
    if total == 0:
        return message("ranking.not_ranked.none")
    if total < measure.minimum:
        return message("ranking.not_ranked.minimum", have=total, need=measure.minimum)
    return None if measure.is_ranked else message("ranking.not_ranked.shown")


def _likely(prior: Prior | None, rows: pl.DataFrame) -> dict[str, pl.Series]:
    nothing = pl.Series([None] * len(rows), dtype=pl.Float64)
    if prior is None:
        return dict.fromkeys(("likely", "likely_low", "likely_high"), nothing)
    likely = shrink(prior, rows["numerator"].to_numpy(), rows["denominator"].to_numpy())
    return {
        "likely": pl.Series(likely.share),
        "likely_low": pl.Series(likely.low),
        "likely_high": pl.Series(likely.high),
    }


def _positions(prior: Prior | None, measure: Measure, rows: pl.DataFrame) -> dict[str, pl.Series]:
    is_ranked = rows["is_ranked"].to_numpy()
    columns = {name: np.full(len(rows), np.nan) for name in ("low", "high", "count", "p", "tenth")}
    if prior is not None and is_ranked.any():
        ranked = rows.filter(pl.col("is_ranked"))
        found = positions(
            prior,
            ranked["numerator"].to_numpy(),
            ranked["denominator"].to_numpy(),
            better=measure.better,
        )
        columns["low"][is_ranked] = found.low
        columns["high"][is_ranked] = found.high
        columns["count"][is_ranked] = len(ranked)
        columns["p"][is_ranked] = found.p_worse
        columns["tenth"][is_ranked] = found.p_tenth
    known = {name: pl.Series(values).fill_nan(None) for name, values in columns.items()}
    return {
        "position_low": known["low"].cast(pl.Int64),
        "position_high": known["high"].cast(pl.Int64),
        "position_count": known["count"].cast(pl.Int64),
        "p_worse": known["p"],
        "p_tenth": known["tenth"],
    }
