"""Whether a unit stops more cycles than is usual for it, or a subject more than chance explains.

Both are asked for any day from what was known up to that day, so that the beginning of an episode
is found by asking again for the weeks before.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from pipeline.base.period import year_to
from pipeline.measure.day_counts import Counts, DayCounts
from pipeline.measure.dispersion import dispersion, is_outside
from pipeline.measure.intervals import Floats
from pipeline.measure.shrinkage import fit_prior, shrink
from pipeline.measure.tails import p_at_least

RECENT_DAYS = timedelta(days=28)
EARLIER_DAYS = timedelta(days=365)
ACT_NOW_P, LOOK_INTO_P = 0.0005, 0.01
"""A network of 900 units asked once in 28 days sees a false "Act now" about every second time."""
LATELY_DAYS = timedelta(days=91)
FEWEST_STOPS = 3
"""One or two stops are never a signal, however rare stops are."""


@dataclass(frozen=True, slots=True)
class Recent:
    """The last 28 days of each unit against its own twelve months before; NaN when unknown."""

    stopped: Counts
    run: Counts
    usual_share: Floats
    p_value: Floats

    @property
    def expected(self) -> Floats:
        """Stops that would be usual for the cycles run."""
        return self.usual_share * self.run

    def is_signal(self, p: float = LOOK_INTO_P) -> NDArray[np.bool_]:
        """True where so many stops have a probability below p, and are more than a couple."""
        return (self.p_value < p) & (self.stopped >= FEWEST_STOPS)


@dataclass(frozen=True, slots=True)
class Year:
    """Twelve months of each subject against the share of all together."""

    stopped: Counts
    run: Counts
    expected: Floats
    is_signal: NDArray[np.bool_]


def recent(counts: DayCounts, as_of: date) -> Recent:
    """What the 28 days up to this day look like, judged by the year before them."""
    to_on = as_of + timedelta(days=1)
    from_on = to_on - RECENT_DAYS
    stopped, run = counts.between(from_on, to_on)
    earlier = counts.between(from_on - EARLIER_DAYS, from_on)
    prior = fit_prior(*earlier)
    if prior is None:
        unknown = np.full(len(run), np.nan)
        return Recent(stopped, run, unknown, unknown)
    usual = shrink(prior, *earlier).share
    return Recent(stopped, run, usual, p_at_least(stopped, run, usual))


def year(counts: DayCounts, as_of: date, minimum: int) -> Year:
    """Who lies above the outer limit; judged are subjects with the minimum of cycles.

    Only while it lasts: one that in the last quarter stopped no more than the share of all together
    has been mended, and its year is left to the ranking.
    """
    from_on, to_on = year_to(as_of)
    stopped, run = counts.between(from_on, to_on)
    share = float(stopped.sum() / max(run.sum(), 1))
    is_judged = run >= minimum
    phi = dispersion(stopped[is_judged], run[is_judged], share)
    lately_stopped, lately_run = counts.between(to_on - LATELY_DAYS, to_on)
    is_lasting = lately_stopped > share * lately_run
    is_signal = is_judged & is_lasting & is_outside(stopped, run, share, phi)
    return Year(stopped, run, np.float64(share) * run, is_signal)
