"""How well past editions foretold what happened in the four weeks after them.

Each probability here was made from what was known on its day, by coefficients learned only from
outcomes that were over by then.
Source: G. W. Brier, Monthly Weather Review 78 (1950) 1-3; A. H. Murphy, J. Appl. Meteorol. 12
(1973) 595-600 for the skill against always saying the base rate.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from pipeline.measure.intervals import Floats

TOP = 10
BANDS = (0.0, 0.02, 0.05, 0.1, 0.2, 0.4, 1.0)
"""Of said probability, in which what was seen is counted: few units have a high one."""


@dataclass(frozen=True, slots=True)
class Skill:
    """Of one way to order the units.

    `area` is the chance that of two units, one with a failure to come and one without, the former
    stands first; `precision` is the share of failures in the first ten.
    """

    brier: float | None
    brier_of_base_rate: float
    area: float
    precision: float


@dataclass(frozen=True, slots=True)
class Band:
    """Units that were given a probability within a band, and how many of them then failed."""

    low: float
    high: float
    said: float
    unit_count: int
    failed_count: int


def skill(editions: list[tuple[Floats, NDArray[np.bool_]]], *, is_probability: bool) -> Skill:
    """Of scores with their outcomes, an edition each; needs an outcome of either kind."""
    scores = np.concatenate([score for score, _ in editions])
    failed = np.concatenate([outcome for _, outcome in editions])
    base = failed.mean()
    found = sum(int(outcome[_first(score)].sum()) for score, outcome in editions)
    listed = sum(min(TOP, len(score)) for score, _ in editions)
    return Skill(
        float(np.mean((scores - failed) ** 2)) if is_probability else None,
        float(base * (1 - base)),
        area(scores, failed),
        found / listed,
    )


def area(scores: Floats, failed: NDArray[np.bool_]) -> float:
    """Area under the receiver operating characteristic, ties counted half."""
    ranks = stats.rankdata(scores)
    yes, no = int(failed.sum()), int((~failed).sum())
    return float((ranks[failed].sum() - yes * (yes + 1) / 2) / (yes * no))


def bands(said: Floats, failed: NDArray[np.bool_]) -> list[Band]:
    """The reliability of probabilities, band by band; empty bands are left out."""
    place = np.searchsorted(BANDS, said, side="right") - 1
    place = np.minimum(place, len(BANDS) - 2)
    return [
        Band(
            BANDS[band],
            BANDS[band + 1],
            float(said[place == band].mean()),
            int((place == band).sum()),
            int(failed[place == band].sum()),
        )
        for band in range(len(BANDS) - 1)
        if (place == band).any()
    ]


def _first(scores: Floats) -> NDArray[np.int64]:
    """The ten highest; of equal ones those that come first."""
    return np.argsort(-scores, kind="stable")[:TOP]
