"""How many points pass before a chart of normal values signals, on average.

The sum is cut into cells and followed as a Markov chain. Values are in sigmas. Run lengths of the
Bernoulli CUSUM, which needs no cutting, are in `bernoulli`.
Source: D. Brook and D. A. Evans, Biometrika 59 (1972) 539-549; for EWMA J. M. Lucas and
M. S. Saccucci, Technometrics 32 (1990) 1-12.
"""

import numpy as np
from scipy import special

from pipeline.measure.intervals import Floats


def cusum_run_length(
    allowance: float, limit: float, shift: float = 0.0, *, cells: int = 400
) -> float:
    """Of the two-sided tabular CUSUM from 0: one over the sum of the rates of both sides.

    Exact for two sides as long as both sums cannot be up at once, which holds for allowance > 0
    and limits above it. Source: D. C. Montgomery's relation for two one-sided charts [from memory].
    """
    rates = [1 / _one_sided_run_length(allowance, limit, side, cells) for side in (shift, -shift)]
    return float(1 / sum(rates))


def _one_sided_run_length(allowance: float, limit: float, shift: float, cells: int) -> float:
    # The first cell is half as wide and stands for 0, where the sum rests.
    width = 2 * limit / (2 * cells - 1)
    middles = np.arange(cells) * width
    edges = middles + width / 2
    upper = special.ndtr(edges[np.newaxis] - middles[:, np.newaxis] + allowance - shift)
    moves = np.diff(upper, axis=1, prepend=0.0)
    return _steps_to_leave(moves)[0]


def ewma_run_length(weight: float, sigmas: float, shift: float = 0.0, *, cells: int = 401) -> float:
    """Of the two-sided EWMA from its target, with the limits of the long run."""
    limit = sigmas * np.sqrt(weight / (2 - weight))
    edges = np.linspace(-limit, limit, cells + 1)
    middles = (edges[1:] + edges[:-1]) / 2
    # The value that leads from a middle to an edge.
    needed = (edges[np.newaxis] - (1 - weight) * middles[:, np.newaxis]) / weight
    moves = np.diff(special.ndtr(needed - shift), axis=1)
    return _steps_to_leave(moves)[cells // 2]


def _steps_to_leave(moves: Floats) -> Floats:
    """Mean steps from each cell until the sum leaves all of them."""
    size = len(moves)
    return np.asarray(np.linalg.solve(np.eye(size) - moves, np.ones(size)))
