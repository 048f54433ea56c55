"""The watch list: which unit an engineer should look at first, and how good the past lists were."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from pipeline.measure.catalogue import Signal, Watch
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.intervals import Floats
from pipeline.measure.resets import Resets
from pipeline.measure.stop_chart import StopChart
from pipeline.measure.stops import recent
from pipeline.measure.watch_model import History, climbed, in_order, probability
from pipeline.measure.watch_signals import AHEAD, SIGNALS, Known, Outcome, known_on, outcome_after
from pipeline.measure.wear_excess import WearExcess

EDITIONS = 12
"""Past editions that are learned from: as many as a year of charts holds, four weeks apart."""


def edition_days(as_of: date) -> list[date]:
    """The as-of day and those of the past editions, the latest first."""
    return [as_of - AHEAD * number for number in range(EDITIONS + 1)]


@dataclass(frozen=True, slots=True)
class Past:
    """A past edition: what it could have said of each unit, and what happened then."""

    day: date
    known: Known
    outcome: Outcome
    said: Floats


@dataclass(frozen=True, slots=True)
class WatchList:
    """Today's probabilities with what they are made of, and the past editions, the latest first.

    `outcome_count` is the number of failures that the coefficients were learned from.
    """

    known: Known
    coefficients: Floats
    said: Floats
    past: list[Past]
    outcome_count: int

    def contributions(self) -> Floats:
        """What each signal adds to the log-odds of each unit, beside the middle unit."""
        added = self.known.signals * self.coefficients[1:]
        return np.asarray(added - np.median(added, axis=0)) if len(added) else added


def watch_list(
    counts: DayCounts,
    resets: Resets,
    chart: StopChart,
    wear: WearExcess,
    repairs: dict[int, list[int]],
    as_of: date,
    signal: Signal,
    watch: Watch,
) -> WatchList:
    """Learn from the editions whose four weeks were over, and say what comes next.

    A past edition is given the coefficients that it could have had on its day, never later ones.
    """
    units = counts.subjects
    default = np.array([watch.default["intercept"], *(watch.default[one] for one in SIGNALS)])

    def known(day: date) -> Known:
        return known_on(day, units, chart, recent(counts, resets, day, signal), wear)

    days = [day for day in edition_days(as_of)[1:] if day >= chart.first_on]
    seen = [(day, known(day), outcome_after(day, counts, repairs, watch)) for day in days]
    learned = _learned(seen, default, watch.ridge)
    past = [
        Past(day, what, outcome, probability(coefficients, what.signals))
        for (day, what, outcome), coefficients in zip(seen, learned[1:], strict=True)
    ]
    now = known(as_of)
    said = probability(learned[0], now.signals)
    return WatchList(now, learned[0], said, past, _failures(seen))


def _learned(
    seen: list[tuple[date, Known, Outcome]], default: Floats, ridge: float
) -> list[Floats]:
    """What can be learned from all these editions, the latest first, and before each of them.

    Editions lie as far apart as they look ahead, so on the day of one those before it are over.
    """
    parts = [
        in_order(what.signals[outcome.is_seen], outcome.is_failed[outcome.is_seen])
        for _, what, outcome in seen
    ]
    found = [default]
    if parts:
        history = History.joined(parts)
        begins = np.cumsum([0, *(len(one.signs) for one in parts[:-1])]).tolist()
        # From the earliest on, because what was learned last time is near to what comes next.
        for first in reversed(begins):
            found.append(climbed(history.after(first), default, ridge, found[-1]))
    return found[::-1]


def _failures(seen: list[tuple[date, Known, Outcome]]) -> int:
    return int(sum((one.is_failed & one.is_seen).sum() for _, _, one in seen))


def lead_days(past: list[Past], top: int) -> list[int]:
    """Days between an edition and the failure, of each unit among its first that then failed."""
    found = []
    for one in past:
        seen = np.flatnonzero(one.outcome.is_seen)
        first = seen[np.argsort(-one.said[seen], kind="stable")[:top]]
        failed = first[one.outcome.is_failed[first]]
        found += (one.outcome.failed_on[failed] - one.day.toordinal()).tolist()
    return found
