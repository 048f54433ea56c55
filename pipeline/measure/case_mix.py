"""How many events a site would have if it did each kind of work as well as the network does it.

Indirect standardisation: events expected from the network's share in each stratum, and the ratio of
those seen to them. The events are rare, so their count is taken as Poisson; the network's shares as
known, which with few sites makes the range somewhat too short. Two ratios have different weights
inside: each compares its site with the network, none a site with another.

The likely ratio is drawn towards the others; the expected count is the exposure of its count.

Source: N. E. Breslow and N. E. Day, Statistical Methods in Cancer Research II (1987), chapter 2; of
the likely ratio D. Clayton and J. Kaldor, Biometrics 43 (1987) 671-681.
"""

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measure.gamma_poisson import fit_rate_prior, shrink_rates
from pipeline.measure.intervals import Floats, counts
from pipeline.measure.poisson import garwood_bounds
from pipeline.measure.tables import read


def expected_counts(
    events: Floats, totals: Floats, stratum: NDArray[np.int64], subject: NDArray[np.int64]
) -> Floats:
    """Events expected of each subject, by its position; adds up to the events that were seen.

    A row is one subject's record in one stratum.
    """
    x, n = counts(events, totals)
    of_stratum, all_of_stratum = np.bincount(stratum, x), np.bincount(stratum, n)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(all_of_stratum > 0, of_stratum / all_of_stratum, 0.0)
    return np.asarray(np.bincount(subject, share[stratum] * n), np.float64)


def ratio_bounds(
    events: Floats, expected: Floats, confidence: float = 0.95
) -> tuple[Floats, Floats, Floats]:
    """Events seen to those expected, with the ends of the exact range; NaN where none are."""
    low, high = garwood_bounds(events, confidence)
    known = np.where(expected > 0, expected, np.nan)
    return events / known, low / known, high / known


def likely_ratios(events: Floats, expected: Floats) -> tuple[Floats, Floats, Floats]:
    """What each ratio likely is and its 90 % interval, drawn towards the others; NaN for none."""
    prior = fit_rate_prior(events, expected)
    if prior is None:
        nothing = np.full(len(events), np.nan)
        return nothing, nothing, nothing
    likely = shrink_rates(prior, events, expected)
    is_known = expected > 0
    ratio, low, high = (
        np.where(is_known, ends, np.nan) for ends in (likely.share, likely.low, likely.high)
    )
    return ratio, low, high


def standardised(con: duckdb.DuckDBPyConnection, column: str) -> pl.DataFrame:
    """Columns subject_id, expected_count, the ratio and the likely ratio with their ends.

    One row a site. `column` is the one of fact.case_mix that counts the events. A site that ran no
    load in the year has no row.
    """
    rows = read(
        con,
        f"""
        SELECT
            site_id,
            program_family || '/' || age_band AS stratum,
            {column} AS numerator,
            run_count AS denominator,
        FROM fact.case_mix
        ORDER BY site_id, stratum
        """,
    )
    sites, strata = rows["site_id"].unique().sort(), rows["stratum"].unique().sort()
    subject = sites.search_sorted(rows["site_id"]).to_numpy().astype(np.int64)
    stratum = strata.search_sorted(rows["stratum"]).to_numpy().astype(np.int64)
    events = rows["numerator"].to_numpy().astype(np.float64)
    expected = expected_counts(events, rows["denominator"].to_numpy(), stratum, subject)
    seen = np.asarray(np.bincount(subject, events, len(sites)), np.float64)
    ratio, low, high = ratio_bounds(seen, expected)
    likely, likely_low, likely_high = likely_ratios(seen, expected)
    return pl.DataFrame(
        {
            "subject_id": sites,
            "expected_count": expected,
            "ratio": ratio,
            "ratio_low": low,
            "ratio_high": high,
            "likely_ratio": likely,
            "likely_ratio_low": likely_low,
            "likely_ratio_high": likely_high,
        }
    ).with_columns(pl.col(pl.Float64).fill_nan(None))
