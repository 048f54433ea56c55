"""D. J. Spiegelhalter, Statistics in Medicine 24 (2005) 1185-1202: exact binomial funnel limits.

The rule is cited from memory of the paper's appendix; it prints no table for this target, so the
table below was computed beforehand and is computed again here, in whole-number steps.
"""

from fractions import Fraction
from math import comb

import pytest

from pipeline.measure.tails import FUNNEL_P, funnel_limit, p_at_least, upper_limit

TARGET = 0.05

#      cycles   99.8 % low   95 % low   95 % high   99.8 % high
TABLE = [
    (20, 0.0, 0.0, 0.14236, 0.23506),
    (50, 0.0, 0.0, 0.10983, 0.15799),
    (100, 0.0, 0.00612, 0.09191, 0.12464),
    (200, 0.00654, 0.01958, 0.07971, 0.10118),
    (500, 0.02158, 0.03071, 0.06899, 0.08160),
    (1000, 0.02950, 0.03640, 0.06345, 0.07202),
]


def by_the_rule(total: int, share: Fraction, p: Fraction) -> float:
    """The limit counted up one event at a time, in fractions."""
    reached, count = Fraction(0), 0
    while True:
        step = comb(total, count) * share**count * (1 - share) ** (total - count)
        reached += step
        if reached > p:
            return float(max((count - (reached - p) / step) / total, 0))
        count += 1


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]} cycles")
def test_limits_at_a_target_of_5_percent(row: tuple[float, ...]) -> None:
    total, *limits = row
    assert funnel_limit(total, TARGET, FUNNEL_P) == pytest.approx(limits, abs=0.000005)


@pytest.mark.parametrize("p", FUNNEL_P)
@pytest.mark.parametrize("total", [1, 7, 20, 100, 200])
def test_the_rule_worked_in_fractions_gives_the_same(total: int, p: float) -> None:
    rule = by_the_rule(total, Fraction(5, 100), Fraction(str(p)))
    assert float(funnel_limit(total, TARGET, p)) == pytest.approx(rule, abs=1e-9)


def test_the_normal_limit_would_accuse_a_small_unit_that_the_exact_one_spares() -> None:
    normal = TARGET + 3.0902 * (TARGET * (1 - TARGET) / 100) ** 0.5
    assert normal < 12 / 100 < float(funnel_limit(100, TARGET, 0.999))
    assert float(p_at_least(12, 100, TARGET)) > 0.001


def test_a_point_outside_the_drawn_line_can_be_less_surprising_than_the_line_says() -> None:
    # S. E. Seaton and B. N. Manktelow, BMC Med. Res. Methodol. 12 (2012) 98, found as much for
    # Poisson counts: near few events the interpolated line is crossed far more often than 2.5 %.
    assert float(funnel_limit(20, TARGET, 0.975)) < 3 / 20
    assert float(p_at_least(3, 20, TARGET)) == pytest.approx(0.0755, abs=0.00005)
    assert float(upper_limit(20, TARGET, 0.025)) >= 3 / 20
