"""Many questions at once: how many of the answers that stand out do so by luck.

Source: Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289-300.
"""

import numpy as np
from numpy.typing import ArrayLike

from pipeline.measure.intervals import Floats


def benjamini_hochberg(p_values: ArrayLike) -> Floats:
    """Each p-value adjusted for the number of them: the least false-discovery rate that takes it.

    Listing those up to q leaves a share of at most q of the list to luck, on average, when the
    questions are independent or lean the same way. NaN stays NaN and is not counted as a question:
    what could not be asked is no comparison. The order of the questions does not matter.
    """
    p = np.asarray(p_values, dtype=np.float64)
    adjusted = np.full(p.shape, np.nan)
    is_asked = ~np.isnan(p)
    asked = p[is_asked]
    assert np.all((asked >= 0) & (asked <= 1)), "a p-value lies within 0..1"
    if asked.size:
        order = np.argsort(asked, kind="stable")
        scaled = asked[order] * asked.size / np.arange(1, asked.size + 1)
        from_the_top = np.minimum.accumulate(scaled[::-1])[::-1]
        ranked = np.empty_like(asked)
        ranked[order] = np.minimum(from_the_top, 1.0)
        adjusted[is_asked] = ranked
    return adjusted
