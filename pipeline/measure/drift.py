"""Whether a value that tells of wear is leaving the range kept after the last service.

Pure judgements, of one series and of all that a unit has; units are those of the feature.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from pipeline.measure.catalogue import Worse
from pipeline.measure.intervals import Floats, Interval
from pipeline.measure.trend import Slope, theil_sen

BASELINE_WEEKS, LEAST_BASELINE_WEEKS = 26, 8
JUDGED_WEEKS = 3
"""The last three weeks are judged, so they are never part of the baseline."""
SLOPE_WEEKS = 26
STALE_DAYS = 28


@dataclass(frozen=True, slots=True)
class Series:
    """Weekly middles of one feature in one program since the baseline began, in order.

    `mondays` are ordinals of days.
    """

    program: str
    feature: str
    worse: Worse
    baseline_on: date
    mondays: NDArray[np.int64]
    middles: Floats

    def known_on(self, day: date) -> "Series":
        """The part of it whose weeks were over at the end of this day."""
        is_over = self.mondays + 6 <= day.toordinal()
        mondays, middles = self.mondays[is_over], self.middles[is_over]
        return Series(self.program, self.feature, self.worse, self.baseline_on, mondays, middles)


@dataclass(frozen=True, slots=True)
class Drift:
    """How one series stands; the range and the slope are None where there are too few weeks.

    `slope` is in the feature's unit a week. `reason` is outside, alone, usual, too_few or stale.
    """

    low: float | None
    high: float | None
    latest: float
    weeks_outside: int
    slope: Slope | None
    reason: str


def own_range(middles: Floats) -> Interval | None:
    """5 % and 95 % of the baseline; None while it is too short."""
    baseline = middles[: min(BASELINE_WEEKS, len(middles) - JUDGED_WEEKS)]
    if len(baseline) < LEAST_BASELINE_WEEKS:
        return None
    low, high = np.quantile(baseline, [0.05, 0.95])
    return Interval(float(low), float(high))


def run_outside(middles: Floats, own: Interval, worse: Worse) -> int:
    """Weeks in a row, up to the last, beyond the range on the worse side."""
    outside = middles > own.high if worse == "higher" else middles < own.low
    inside = np.flatnonzero(~outside)
    return len(middles) - 1 - int(inside[-1]) if len(inside) else len(middles)


def judge(weeks: NDArray[np.int64], middles: Floats, worse: Worse) -> Drift:
    """Judge a series of weekly middles since the baseline's first day, numbered by week, in order.

    Outside means beyond the 5-95 % range of the baseline on the worse side; it is drift when at
    least three weeks in a row up to the last are outside and the whole 95 % interval of the
    Theil-Sen slope points the same way.
    """
    latest = float(middles[-1])
    own = own_range(middles)
    if own is None:
        return Drift(None, None, latest, 0, None, "too_few")
    weeks_outside = run_outside(middles, own, worse)
    is_judged = weeks > weeks[-1] - SLOPE_WEEKS
    slope = theil_sen(middles[is_judged], weeks[is_judged])
    is_drift = (
        weeks_outside >= JUDGED_WEEKS
        and slope is not None
        and (slope.low > 0 if worse == "higher" else slope.high < 0)
    )
    reason = "outside" if is_drift else "usual"
    return Drift(own.low, own.high, latest, weeks_outside, slope, reason)


def judge_unit(series: list[Series], day: date) -> list[tuple[Series, Drift]]:
    """Judge all series of a unit by what was known on a day; those that had not begun are left out.

    What fewer than half of the unit's programs bear out stands alone and is no drift: a worn part
    shows in every program that uses it, and with some thousand series a network always has a few
    that are three weeks outside by luck.
    """
    known = [part for one in series if len((part := one.known_on(day)).mondays)]
    found = [(one, _judge_one(one, day)) for one in known]
    judged = Counter(one.feature for one, drift in found if drift.reason in ("outside", "usual"))
    outside = Counter(one.feature for one, drift in found if drift.reason == "outside")
    alone = {feature for feature in outside if 2 * outside[feature] < judged[feature]}
    return [
        (one, _with_reason(drift, "alone"))
        if drift.reason == "outside" and one.feature in alone
        else (one, drift)
        for one, drift in found
    ]


def is_drifting(series: list[Series], day: date) -> bool:
    """True when any series of the unit was drifting on that day."""
    # Slopes take long, so they are asked only of features that have left their range at all.
    left = {one.feature for one in series if _has_left(one.known_on(day))}
    suspects = [one for one in series if one.feature in left]
    return any(drift.reason == "outside" for _, drift in judge_unit(suspects, day))


def _has_left(series: Series) -> bool:
    own = own_range(series.middles)
    return own is not None and run_outside(series.middles, own, series.worse) >= JUDGED_WEEKS


def _judge_one(series: Series, day: date) -> Drift:
    drift = judge(series.mondays // 7, series.middles, series.worse)
    is_stale = series.mondays[-1] + 6 + STALE_DAYS < day.toordinal()
    return _with_reason(drift, "stale") if is_stale else drift


def _with_reason(drift: Drift, reason: str) -> Drift:
    return Drift(drift.low, drift.high, drift.latest, drift.weeks_outside, drift.slope, reason)
