"""The lines of the funnel plot: how far from the network's share chance leaves whom.

Source: D. J. Spiegelhalter, Statistics in Medicine 24 (2005) 1185-1202.
"""

import numpy as np
import polars as pl

from pipeline.measure.tails import FUNNEL_P, funnel_limit
from pipeline.measure.widening import widened, widening

POINTS = 48
"""Volumes at which the line is worked out, besides those of the subjects."""
LINES = ("low_outer", "low_inner", "high_inner", "high_outer")


def funnel_rows(ranking: pl.DataFrame, measure: str) -> pl.DataFrame:
    """Rows of measure.funnel, from those of measure.ranking; none without a network share."""
    rows = ranking.filter(pl.col("measure") == measure)
    share = rows.filter(pl.col("level") == "network")["share"].item()
    levels = [
        _level_rows(level, rows.filter(pl.col("is_ranked") & (pl.col("level") == level)), share)
        for level in ("site", "unit")
    ]
    return pl.concat(levels, how="diagonal")


def _level_rows(level: str, ranked: pl.DataFrame, share: float | None) -> pl.DataFrame:
    if ranked.is_empty() or not share or share == 1:
        return pl.DataFrame()
    events, totals = ranked["numerator"].to_numpy(), ranked["denominator"].to_numpy()
    wider = widening(events, totals, share)
    between = np.geomspace(totals.min(), totals.max(), POINTS).round().astype(np.int64)
    volumes = np.unique(np.concatenate([totals, between]))
    limits = {
        name: widened(funnel_limit(volumes, share, p), share, wider.factors(volumes))
        for name, p in zip(LINES, FUNNEL_P, strict=True)
    }
    return pl.DataFrame(
        {
            "level": level,
            "denominator": volumes,
            "share": share,
            "widening": wider.way,
            "dispersion": wider.dispersion,
            "between_share": np.sqrt(wider.variance),
            **limits,
        }
    )
