"""The CUSUM of every unit's equipment stops, with limits for a false-alarm budget of the network.

On the first of each month each unit's usual share is estimated from the twelve months before, and
its limit is set so that all units together may be expected to signal falsely no more often than the
budget says; more units, wider limits. Each unit gets the same chance of being named falsely in a
quarter, whatever it runs. In between, every day adds what `control.bernoulli` says; a repair, a
service or a move sets the sum back to 0. The sum is followed by days, never above the one followed
cycle by cycle, so a day of many cycles cannot make a signal less rare than the limit was set for.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from pipeline.measure.catalogue import Signal
from pipeline.measure.control.bernoulli import limit_for, worth_of_event
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.intervals import Floats
from pipeline.measure.resets import Resets
from pipeline.measure.shrinkage import fit_prior, shrink

YEAR_DAYS, QUARTER_DAYS = 365, 91
SHARE_STEP, CYCLES_STEP = 1.05, 1.1
"""Usual shares and cycles are rounded up to powers of these, so that many units share a limit."""
LEAST_SHARE, MOST_SHARE = 0.0005, 0.25


@dataclass(frozen=True, slots=True)
class Limits:
    """What the units' charts of a month are made of; NaN and 0 where nothing is known yet."""

    share: Floats
    worth: Floats
    limit: Floats


@dataclass(frozen=True, slots=True)
class StopChart:
    """Levels at the end of each day (columns) of each unit; 1 is its limit, NaN: no chart yet.

    `share` is the usual share that the last month's limit was set for, `since` the number of the
    day on which the sum last left 0.
    """

    first_on: date
    levels: NDArray[np.float32]
    share: Floats
    since: NDArray[np.int64]

    @property
    def last_on(self) -> date:
        """The day of the last column."""
        return self.first_on + timedelta(days=self.levels.shape[1] - 1)

    def is_signal(self, day: date) -> NDArray[np.bool_]:
        """True where the sum is at its limit at the end of a day; never before the chart begins."""
        column = (day - self.first_on).days
        if column < 0:
            return np.zeros(len(self.levels), np.bool_)
        return np.asarray(self.levels[:, column] >= 1)

    def risen_from(self) -> list[date]:
        """The day on which each unit's sum began its present rise: the best guess at the change."""
        return [self.first_on + timedelta(days=int(one)) for one in self.since]


def follow(counts: DayCounts, resets: Resets, as_of: date, signal: Signal) -> StopChart:
    """Charts of all subjects from the first of the month a year ago to this day."""
    first_on = as_of.replace(year=as_of.year - 1, day=1)
    days = (as_of - first_on).days + 1
    size = len(counts.subjects)
    levels = np.full((days, size), np.nan, np.float32).T
    total, since = np.zeros(size), np.zeros(size, np.int64)
    limits = set_limits(counts, first_on, signal)
    for column in range(days):
        day = first_on + timedelta(days=column)
        if day.day == 1 and column:
            # What was summed is carried over as a share of the limit.
            carried = total / np.where(limits.limit > 0, limits.limit, 1)
            limits = set_limits(counts, day, signal)
            total = carried * limits.limit
        stopped, run = counts.between(day, day + timedelta(days=1))
        # One event above the limit is the top, so that a unit that recovers comes down in time.
        total = np.clip(total + stopped * limits.worth - run, 0, limits.limit + limits.worth)
        total[resets.on(day)] = 0
        since[total == 0] = column + 1
        with np.errstate(invalid="ignore", divide="ignore"):
            levels[:, column] = np.where(limits.limit > 0, total / limits.limit, np.nan)
    return StopChart(first_on, levels, limits.share, np.minimum(since, days - 1))


def set_limits(counts: DayCounts, day: date, signal: Signal) -> Limits:
    """The limits that hold from a day on, from the twelve months before it."""
    from_on = day - timedelta(days=YEAR_DAYS)
    stopped, run = counts.between(from_on, day)
    prior = fit_prior(stopped, run)
    size = len(run)
    if prior is None:
        return Limits(np.full(size, np.nan), np.zeros(size), np.zeros(size))
    # The upper end of what is plausible: a usual share that luck made low would cry wolf.
    usual = shrink(prior, stopped, run, mass=2 * signal.usual_quantile - 1).high
    share = _rounded_up(np.clip(usual, LEAST_SHARE, MOST_SHARE), SHARE_STEP)
    run_length = _rounded_up(_quarter_cycles(counts, day, run), CYCLES_STEP)
    run_length = run_length * (run > 0).sum() / signal.false_act_now_a_quarter
    kinds, kind_of = np.unique(np.stack([share, run_length]), axis=1, return_inverse=True)
    worth = np.array([worth_of_event(one, signal.odds_ratio) for one in kinds[0].tolist()])
    limit = np.array(
        [
            limit_for(*one)
            for one in zip(kinds[0].tolist(), worth.tolist(), kinds[1].tolist(), strict=True)
        ]
    )
    return Limits(share, worth[kind_of].astype(np.float64), limit[kind_of].astype(np.float64))


def _quarter_cycles(counts: DayCounts, day: date, run: NDArray[np.int32]) -> Floats:
    """Load cycles that a unit may be expected to run in a quarter; a new one: as the others do."""
    days = np.clip(day.toordinal() - counts.heard_days(), 1, YEAR_DAYS)
    pace = run / days * QUARTER_DAYS
    return np.where(run > 0, np.maximum(pace, 1.0), np.median(pace[run > 0]))


def _rounded_up(values: Floats, step: float) -> Floats:
    # A hair keeps a value that is a power already from being lifted to the next by rounding.
    return np.asarray(step ** np.ceil(np.log(values) / np.log(step) - 1e-9))
