"""How much better the beta-binomial explains x of n of many subjects than one share for all.

Pure arithmetic on the likelihood; `shrinkage` looks for its maximum. Everything is written as the
gain over the pooled binomial, whose own value falls out: near complete pooling both likelihoods are
large and nearly equal, and subtracting them would leave only rounding.
"""

from dataclasses import dataclass
from typing import Self

import numpy as np
from scipy import special

from pipeline.measure.intervals import Floats

STIRLING_FROM = 100.0
"""From here up ln Gamma is Stirling's series with two correction terms; the next is below 1e-13."""


@dataclass(frozen=True, slots=True)
class Tally:
    """The data as the likelihood sees them: each count that occurs, and how many subjects have it.

    Collapsing makes the sums short, and the same whatever the order of the subjects.
    """

    events: tuple[Floats, Floats]
    others: tuple[Floats, Floats]
    totals: tuple[Floats, Floats]
    event_sum: float
    other_sum: float
    subject_count: int

    @classmethod
    def of(cls, events: Floats, totals: Floats) -> Self:
        """Tally subjects that have a total above 0."""
        return cls(
            _occurring(events),
            _occurring(totals - events),
            _occurring(totals),
            float(events.sum()),
            float((totals - events).sum()),
            len(totals),
        )

    @property
    def cycle_count(self) -> float:
        """What all subjects together were counted on."""
        return self.event_sum + self.other_sum

    @property
    def pooled_share(self) -> float:
        """All events of all cycles."""
        return self.event_sum / self.cycle_count


def gain(tally: Tally, logit_mean: float, log_weight: float) -> tuple[float, Floats]:
    """Log-likelihood gained over one share for all, and its slope in both parameters.

    The prior is Beta(mean x weight, (1 - mean) x weight). The gain tends to 0 from either side as
    the weight grows at the pooled mean; above 0 somewhere means that subjects truly differ.
    """
    weight, mean, rest = np.exp(log_weight), special.expit(logit_mean), special.expit(-logit_mean)
    alpha, beta = mean * weight, rest * weight
    of_events, events_slope = _excess(alpha, *tally.events)
    of_others, others_slope = _excess(beta, *tally.others)
    of_totals, totals_slope = _excess(weight, *tally.totals)
    of_mean = tally.event_sum * (
        special.log_expit(logit_mean) - np.log(tally.pooled_share)
    ) + tally.other_sum * (special.log_expit(-logit_mean) - np.log1p(-tally.pooled_share))
    slope = np.array(
        [
            (events_slope - others_slope) * weight * mean * rest
            + tally.event_sum * rest
            - tally.other_sum * mean,
            alpha * events_slope + beta * others_slope - weight * totals_slope,
        ]
    )
    return float(of_events + of_others - of_totals + of_mean), slope


def _occurring(values: Floats) -> tuple[Floats, Floats]:
    found, times = np.unique(values, return_counts=True)
    return found, times.astype(np.float64)


def _excess(start: float, steps: Floats, times: Floats) -> tuple[float, float]:
    """Sum of ln(start (start+1) ... (start+steps-1)) - steps ln(start), and its slope in start."""
    end = start + steps
    if start < STIRLING_FROM:
        value = special.gammaln(end) - special.gammaln(start) - steps * np.log(start)
        slope = special.digamma(end) - special.digamma(start) - steps / start
    else:
        growth = np.log1p(steps / start)
        value = (end - 0.5) * growth - steps + (1 / end - 1 / start) / 12
        value -= (end**-3 - start**-3) / 360
        slope = growth - steps / start - (1 / end - 1 / start) / 2
        slope += (end**-4 - start**-4) / 120 - (end**-2 - start**-2) / 12
    return float(times @ value), float(times @ slope)
