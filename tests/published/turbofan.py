"""Engines run until they failed, scored by our signal of wear and by the rule in one line.

Data: turbofan_pressure.txt, with its source and licence. Flights count as cycles, and a number of
them as a week. The rule is the one that every workshop knows: the exponentially weighted mean of
one sensor, against the engine's own beginning.
"""

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import polars as pl
from scipy import stats

from pipeline.measure.catalogue import Feature
from pipeline.measure.control.values import ewma
from pipeline.measure.drift import JUDGED_WEEKS, LEAST_BASELINE_WEEKS
from pipeline.measure.scatter import UsualScatter
from pipeline.measure.spans import Spans
from pipeline.measure.wear_excess import excess_on

BEGIN = date(2024, 1, 1)
FIRST_WEEK = LEAST_BASELINE_WEEKS + JUDGED_WEEKS
AHEAD_WEEKS = 4
"""A failure within so many weeks is what should be foretold, as on the watch list."""
FAR_WEEKS, FALSE_SHARE = 8, 0.01
"""Alarms in more than so many weeks before the failure are false; so large a share of those weeks
is allowed either method."""
OWN_BEGINNING_WEEKS = 8


def read_engines() -> dict[str, np.ndarray]:
    """The pressure of each flight of an engine, psia."""
    lines = (Path(__file__).parent / "turbofan_pressure.txt").read_text(encoding="utf-8")
    rows = [line.split(": ") for line in lines.splitlines() if not line.startswith("#")]
    return {name.zfill(3): (np.array(text.split(), float) + 4600) / 100 for name, text in rows}


ENGINES = read_engines()


def weekly(flights: int) -> Spans:
    """A span an engine, whole weeks only."""
    middles = {
        name: np.median(values[: len(values) // flights * flights].reshape(-1, flights), axis=1)
        for name, values in ENGINES.items()
    }
    rows = pl.DataFrame(
        {
            "unit_serial": [name for name, weeks in middles.items() for _ in weeks],
            "program": "flight",
            "feature": "pressure",
            "begun_on": BEGIN,
            "is_current": True,
            "week_on": [
                BEGIN + timedelta(weeks=week)
                for weeks in middles.values()
                for week in range(len(weeks))
            ],
            "middle": np.concatenate(list(middles.values())),
        }
    )
    return Spans.of(rows, (Feature("pressure", "", "", "higher", "", ""),))


def one_line_rule(values: np.ndarray, flights: int) -> np.ndarray:
    """After each flight, in sigmas of the first eight weeks: the rule we should not lose to."""
    own = values[: OWN_BEGINNING_WEEKS * flights]
    return (ewma(values, 0.2, own.mean()) - own.mean()) / own.std(ddof=1)


def scored(flights: int) -> pl.DataFrame:
    """A row for each week of each engine that still flies: weeks left, our excess, the rule's."""
    spans = weekly(flights)
    weeks = range(FIRST_WEEK, max(map(len, ENGINES.values())) // flights + 1)
    days = [BEGIN + timedelta(weeks=week, days=-1) for week in weeks]
    rules = {name: one_line_rule(values, flights) for name, values in ENGINES.items()}
    rows = []
    excesses = excess_on(spans, days, UsualScatter.of(spans, days))
    for week, found in zip(weeks, excesses, strict=True):
        for name, excess in found.select("unit_serial", "excess").iter_rows():
            left = len(ENGINES[name]) - week * flights
            if left >= 0:
                rows.append((name, left / flights, excess, rules[name][week * flights - 1]))
    return pl.DataFrame(rows, schema=["engine", "weeks_left", "excess", "rule"], orient="row")


def area(scores: np.ndarray, is_failing: np.ndarray) -> float:
    """Area under the curve: how often a failing week lies above another, ties half."""
    above = stats.mannwhitneyu(scores[is_failing], scores[~is_failing]).statistic
    return above / is_failing.sum() / (~is_failing).sum()


def lead_weeks(rows: pl.DataFrame, score: str) -> np.ndarray:
    """Weeks before the failure at which an alarm begins; the same share of false ones for both."""
    far = rows.filter(pl.col("weeks_left") > FAR_WEEKS)[score]
    limit = float(np.quantile(far.to_numpy(), 1 - FALSE_SHARE))
    first = rows.filter(pl.col(score) > limit, pl.col("weeks_left") <= FAR_WEEKS)
    first = first.group_by("engine").agg(lead=pl.col("weeks_left").max())
    lead = rows.select("engine").unique().join(first, on="engine", how="left").sort("engine")
    return lead["lead"].fill_null(0.0).to_numpy()
