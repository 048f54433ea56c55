"""The exponential function, for loops in which a processor takes several numbers at a time.

The library's takes one, which would be most of the time of a lethality.
"""

import math

import numpy as np

from pipeline.physics.compiled import compiled

_TERMS = tuple(1 / math.factorial(power) for power in range(13, -1, -1))
"""Of Taylor's series; up to half of ln 2 the next one is less than the last bit."""
_LN_2_HIGH, _LN_2_LOW = 2977044471 / 2**32, 1.9082149292705877e-10
"""Together ln 2; times a whole number up to 2^21 the first is exact."""
_OF_LN_2 = 1 / math.log(2)
"""To multiply is quicker than to divide; where they differ, the next doubling does as well."""
_TO_WHOLE = 1.5 * 2**52
"""Added to a number it leaves no room for a fraction: the last bits are the whole number."""


@compiled
def exponential(power: float) -> float:
    """The number e to a power from -700 to 700, right to the last bit but one; not beyond them.

    Two to a whole power, added to the bits of the exponent, times what is left of the power.
    """
    shifted = power * _OF_LN_2 + _TO_WHOLE
    doublings = shifted - _TO_WHOLE
    rest = power - doublings * _LN_2_HIGH - doublings * _LN_2_LOW
    total = _TERMS[0]
    for term in _TERMS[1:]:
        total = total * rest + term
    bits = np.float64(total).view(np.int64) + (np.float64(shifted).view(np.int64) << 52)
    return np.int64(bits).view(np.float64)
