import math
from decimal import Decimal, localcontext

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.physics.compiled import compiled
from pipeline.physics.exponential import exponential

MOST_ERROR = 1.2 * 2.0**-52
"""A unit in the last place is up to 2^-52 of the value."""


@given(st.floats(-700, 700))
def test_it_is_right_to_the_last_bit_but_one(power):
    with localcontext() as context:
        context.prec = 40
        exact = Decimal(power).exp()
        assert abs(Decimal(exponential(power)) / exact - 1) <= Decimal(MOST_ERROR)


def test_halfway_between_two_doublings_it_is_as_right():
    powers = np.concatenate(
        [(np.arange(-60, 60) + 0.5) * math.log(2) * (1 + away) for away in (-1e-12, 0, 1e-12)]
    )
    found = np.array([exponential(power) for power in powers])
    assert found == pytest.approx([math.exp(power) for power in powers], rel=MOST_ERROR, abs=0)


def test_none_and_one_are_exact():
    assert exponential(0.0) == 1
    assert exponential(-0.0) == 1


def test_what_is_not_a_number_stays_so():
    assert math.isnan(exponential(math.nan))


@compiled
def _of_all(powers):
    out = np.empty(len(powers))
    for at in range(len(out)):
        out[at] = exponential(powers[at])
    return out


@pytest.mark.parametrize("count", [1, 2, 3, 7, 8, 9, 31, 33, 1000])
def test_several_at_a_time_are_the_very_same_as_each_alone(count):
    powers = np.random.default_rng(count).uniform(-40, 10, count)
    assert _of_all(powers).tolist() == [exponential(power) for power in powers]
