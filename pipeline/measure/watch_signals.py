"""What is known of each unit on a day that may foretell a failure, and whether it then failed."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from pipeline.measure.catalogue import Watch
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.intervals import Floats
from pipeline.measure.stop_chart import StopChart
from pipeline.measure.stops import Recent
from pipeline.measure.wear_excess import WearExcess

SIGNALS = ("chart", "month", "week", "usual", "wear")
"""The columns of the signals, as the coefficients in the measure's TOML name them."""
AHEAD = timedelta(days=28)
MOST_EXCESS = 8.0
"""Sigmas; beyond, farther out says no more."""
LEAST_SHARE = 0.001


@dataclass(frozen=True, slots=True)
class Known:
    """Signals of each unit on a day: a row a unit, a column a signal, all 0 when nothing is odd."""

    signals: Floats
    recent: Recent
    excess: Floats
    feature: list[str | None]


def known_on(
    day: date, units: list[str], chart: StopChart, recent: Recent, wear: WearExcess
) -> Known:
    """The signals of a day, all from what was known at its end."""
    excess, feature = wear.of(day, units)
    column = (day - chart.first_on).days
    level = np.nan_to_num(chart.levels[:, column].astype(np.float64))
    usual = np.nan_to_num(recent.usual_share)
    columns = {
        "chart": level,
        "month": _surplus(recent.long.stopped, usual * recent.long.run),
        "week": _surplus(recent.short.stopped, usual * recent.short.run),
        "usual": np.log(np.maximum(usual, LEAST_SHARE) / LEAST_SHARE),
        "wear": np.clip(excess, 0, MOST_EXCESS),
    }
    return Known(np.column_stack([columns[name] for name in SIGNALS]), recent, excess, feature)


def _surplus(stopped: NDArray[np.int32], expected: Floats) -> Floats:
    """Log of how many times what is usual was seen, half a stop added to both; never below 0."""
    return np.maximum(0.0, np.log((stopped + 0.5) / (expected + 0.5)))


@dataclass(frozen=True, slots=True)
class Outcome:
    """Who failed in the four weeks after a day; `is_seen` is false for units that fell silent.

    `failed_on` is the ordinal of the first day by which it had: -1 for those that had not.
    """

    is_failed: NDArray[np.bool_]
    is_seen: NDArray[np.bool_]
    failed_on: NDArray[np.int64]


def outcome_after(
    day: date, counts: DayCounts, repairs: dict[int, list[int]], watch: Watch
) -> Outcome:
    """A failure is a repair, or stops of the equipment beyond the declared share and number.

    `repairs` holds the days, as ordinals, of each unit's repairs, by its position among the units.
    """
    from_on, to_on = day + timedelta(days=1), day + AHEAD + timedelta(days=1)
    stopped, run = counts.between(from_on, to_on)
    is_over = (stopped >= watch.fewest) & (stopped > watch.share * run)
    failed_on = np.full(len(run), -1)
    for days in range(1, AHEAD.days + 1):
        so_far, _ = counts.between(from_on, from_on + timedelta(days=days))
        is_now = is_over & (failed_on < 0) & (so_far >= watch.fewest)
        failed_on[is_now] = day.toordinal() + days
    repaired = np.zeros(len(run), np.bool_)
    for unit, days_of in repairs.items():
        ahead = [one for one in days_of if from_on.toordinal() <= one < to_on.toordinal()]
        if ahead:
            repaired[unit] = True
            failed_on[unit] = min([ahead[0], *([failed_on[unit]] if failed_on[unit] > 0 else [])])
    return Outcome(is_over | repaired, (run > 0) | repaired, failed_on)
