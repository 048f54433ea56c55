"""The mean and the weight of the beta prior that explain the counts of many subjects best.

Looks for the top of `beta_binomial.gain` and makes sure that it stands there.
"""

import numpy as np
from scipy import optimize, special

from pipeline.measure.beta_binomial import Tally, gain
from pipeline.measure.intervals import Floats

LEAST_WEIGHT, MOST_WEIGHT = 1.0, 1e9
"""Weights that are looked at, in cycles.

Below one cycle the likelihood takes 0 of 5 for proof of a perfect unit as soon as the others are
all or nothing. Above a thousand million nothing differs from complete pooling.
"""
LADDER = np.linspace(np.log(LEAST_WEIGHT), np.log(MOST_WEIGHT), 31)
"""Logs of the weights from which a climb may start, each twice the one before."""
ROUNDING = 1e-12
"""Gain in log-likelihood, for each cycle, that rounding alone can make; far below any evidence."""


def top(tally: Tally) -> tuple[float, float]:
    """Logit of the mean and log of the weight where the gain is greatest."""
    start = special.logit(tally.pooled_share)
    # Far out the gain is flat in the log of the weight, and a climb from there would stop at once.
    best = max(LADDER, key=lambda log_weight: gain(tally, start, log_weight)[0])

    # The mean is measured in its standard errors: where cycles are many the gain is a ridge,
    # thousands of times steeper across than along, which no climb follows to the top.
    scale = np.array([_standard_error(tally, np.exp(best)), 1.0])
    edge = abs(start) + 20

    def loss(at: Floats) -> tuple[float, Floats]:
        value, slope = gain(tally, *at * scale)
        return -value, -slope * scale

    found = optimize.minimize(
        loss,
        np.array([start, best]) / scale,
        jac=True,
        method="L-BFGS-B",
        bounds=optimize.Bounds([-edge, LADDER[0]] / scale, [edge, LADDER[-1]] / scale),
        options={"ftol": 0.0, "gtol": 1e-7},
    )
    logit_mean, log_weight = found.x * scale
    # The optimiser climbs until rounding stops it and calls that a trouble, so its own verdict is
    # not asked.
    confirm_top(tally, logit_mean, log_weight)
    return float(logit_mean), float(log_weight)


def confirm_top(tally: Tally, logit_mean: float, log_weight: float, aside: float = 1e-3) -> None:
    """Raise ArithmeticError when a step aside, in either parameter, leads higher."""
    here = gain(tally, logit_mean, log_weight)[0]
    doubt = 1e-6 + tally.cycle_count * ROUNDING
    for step in (-aside, aside):
        beside = float(np.clip(log_weight + step, LADDER[0], LADDER[-1]))
        higher = max(
            gain(tally, logit_mean + step, log_weight)[0], gain(tally, logit_mean, beside)[0]
        )
        if higher > here + doubt:
            raise ArithmeticError(
                f"prior of {tally.subject_count} subjects: the fit stopped {higher - here:.3g} "
                f"below a point beside it, at logit mean {logit_mean:.6g} and log weight "
                f"{log_weight:.6g}. This is an error of ours, not of the data."
            )


def _standard_error(tally: Tally, weight: float) -> float:
    """Standard error of the logit of the mean, near enough, when the prior has this weight."""
    totals, times = tally.totals
    cycles = times @ (totals * (weight + 1) / (weight + totals))
    return float((cycles * tally.pooled_share * (1 - tally.pooled_share)) ** -0.5)
