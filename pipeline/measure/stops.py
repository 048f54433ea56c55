"""Whether a unit stops more cycles than is usual for it, or a subject more than chance explains.

`stop_chart` answers the same for "Act now", with a budget of false alarms.

Both are asked for any day from what was known up to that day, so that the beginning of an episode
is found by asking again for the weeks before.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from pipeline.base.period import year_to
from pipeline.measure.catalogue import Signal
from pipeline.measure.day_counts import Counts, DayCounts
from pipeline.measure.intervals import Floats
from pipeline.measure.multiplicity import benjamini_hochberg
from pipeline.measure.resets import Resets
from pipeline.measure.shrinkage import fit_prior, shrink
from pipeline.measure.tails import p_at_least
from pipeline.measure.widening import is_outside, widening

EARLIER_DAYS = timedelta(days=365)
LATELY_DAYS = timedelta(days=91)


@dataclass(frozen=True, slots=True)
class Span:
    """What each unit did in the last days, since it was repaired, and how surprising that is."""

    stopped: Counts
    run: Counts
    p_value: Floats


@dataclass(frozen=True, slots=True)
class Recent:
    """A long and a short span of each unit against its own twelve months before; NaN when unknown.

    The short one is there because a month hides a unit that fails within days. `p_value` is the
    smaller of both, doubled because two were asked; `adjusted_p` allows for the number of units.
    """

    long: Span
    short: Span
    usual_share: Floats
    p_value: Floats
    adjusted_p: Floats
    is_signal: NDArray[np.bool_]

    @property
    def expected(self) -> Floats:
        """Stops that would be usual for the cycles of the long span."""
        return self.usual_share * self.long.run


@dataclass(frozen=True, slots=True)
class Year:
    """Twelve months of each subject against the share of all together."""

    stopped: Counts
    run: Counts
    expected: Floats
    is_signal: NDArray[np.bool_]


def recent(counts: DayCounts, resets: Resets, as_of: date, signal: Signal) -> Recent:
    """What the days up to this one look like, judged by the year before the long span.

    One or two stops are never a signal, however rare stops are.
    """
    from_on = as_of + timedelta(days=1 - signal.long_days)
    earlier = counts.between(from_on - EARLIER_DAYS, from_on)
    prior = fit_prior(*earlier)
    usual = np.full(len(earlier[0]), np.nan) if prior is None else shrink(prior, *earlier).share
    long = _span(counts, resets, as_of, signal.long_days, usual)
    short = _span(counts, resets, as_of, signal.short_days, usual)
    p_value = np.minimum(1.0, 2 * np.minimum(long.p_value, short.p_value))
    adjusted = benjamini_hochberg(p_value)
    is_listed = adjusted <= signal.false_discovery_share
    is_signal = is_listed & (long.stopped >= signal.fewest)
    return Recent(long, short, usual, p_value, adjusted, is_signal)


def _span(counts: DayCounts, resets: Resets, as_of: date, days: int, usual: Floats) -> Span:
    to_on = as_of + timedelta(days=1)
    fresh_from = resets.fresh_from(as_of, to_on - timedelta(days=days))
    stopped, run = counts.since(fresh_from, to_on)
    return Span(stopped, run, p_at_least(stopped, run, usual))


def year(counts: DayCounts, as_of: date, minimum: int) -> Year:
    """Who lies above the outer limit; judged are subjects with the minimum of cycles.

    Only while it lasts: one that in the last quarter stopped no more than the share of all together
    has been mended, and its year is left to the ranking.
    """
    from_on, to_on = year_to(as_of)
    stopped, run = counts.between(from_on, to_on)
    share = float(stopped.sum() / max(run.sum(), 1))
    is_judged = run >= minimum
    wider = widening(stopped[is_judged], run[is_judged], share)
    lately_stopped, lately_run = counts.between(to_on - LATELY_DAYS, to_on)
    is_lasting = lately_stopped > share * lately_run
    is_beyond = is_outside(stopped, run, share, wider.factors(run))
    is_signal = is_judged & is_lasting & is_beyond
    return Year(stopped, run, np.float64(share) * run, is_signal)
