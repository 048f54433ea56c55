"""NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3: the data and limits as printed.

Where the handbook rounds on the way, its last digit differs from ours, and the tolerance says so.
"""

import numpy as np
import pytest

from pipeline.measure.control.counts import c_chart, laney_chart, laney_factor, p_chart
from pipeline.measure.control.values import (
    ewma_chart,
    individuals_chart,
    moving_range_limit,
    moving_range_mean,
    tabular_cusum,
)

# 6.3.3.2: wafers with a fault, of 50, in 30 samples.
WAFERS = [12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9]
WAFERS += [12, 7, 13, 9, 6]
# 6.3.3.1: particles on 25 wafers.
PARTICLES = [16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19]
PARTICLES += [16, 31, 13]
# 6.3.2.2: flow rates.
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
# 6.3.2.4 and 6.3.2.3.
SMOOTHED = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, *FLOW]
SUMMED = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600]
SUMMED += [324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]


def beyond(chart) -> list[int]:
    """Numbers of the points beyond a limit, from 1 as printed."""
    return (np.flatnonzero(chart.is_beyond) + 1).tolist()


def test_p_chart_of_wafers():
    chart = p_chart(WAFERS, [50] * 30)

    assert chart.centre == pytest.approx(0.231333, abs=5e-7)
    assert chart.high == pytest.approx([0.410239] * 30, abs=1e-6)
    assert chart.low == pytest.approx([0.052428] * 30, abs=1e-6)
    assert beyond(chart) == [15, 23]


def test_without_its_two_worst_samples_the_next_one_is_beyond():
    kept = [count for number, count in enumerate(WAFERS, 1) if number not in (15, 23)]
    chart = p_chart(kept, [50] * 28)

    assert (chart.centre, chart.high[0], chart.low[0]) == pytest.approx(
        (0.2150, 0.389297, 0.040703), abs=1e-6
    )
    assert chart.points[np.flatnonzero(chart.is_beyond)].tolist() == [0.4]


def test_laney_s_limits_are_wider_by_the_factor_and_hold_every_wafer():
    """The factor was worked out for this project with a published formula, not printed by NIST."""
    chart = laney_chart(WAFERS, [50] * 30)

    assert laney_factor(WAFERS, [50] * 30) == pytest.approx(1.6609, abs=5e-5)
    assert chart.high == pytest.approx([0.5285] * 30, abs=5e-5)
    assert chart.low.tolist() == [0.0] * 30
    assert beyond(chart) == []


def test_c_chart_of_particles_in_which_the_point_on_the_limit_is_not_beyond():
    chart = c_chart(PARTICLES)

    assert (chart.centre, chart.low[0], chart.high[0]) == (16, 4, 28)
    assert PARTICLES[2] == 28
    assert beyond(chart) == [24]


def test_individuals_chart_of_flow():
    chart = individuals_chart(FLOW)

    assert chart.centre == pytest.approx(50.81)
    assert chart.high[0] == pytest.approx(55.8041, abs=1e-4)
    assert chart.low[0] == pytest.approx(45.8159, abs=1e-4)
    assert moving_range_mean(FLOW) == pytest.approx(1.87778, abs=5e-6)
    assert moving_range_limit(FLOW) == pytest.approx(6.1349, abs=3e-4)
    assert beyond(chart) == []


def test_ewma_chart_as_printed_to_two_decimals():
    chart = ewma_chart(SMOOTHED, target=50, sigma=2.0539, weight=0.3)

    printed = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36]
    printed += [49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]
    assert chart.points == pytest.approx(printed, abs=0.006)
    assert chart.high[0] == pytest.approx(52.5884, abs=1e-4)
    assert chart.low[0] == pytest.approx(47.4115, abs=2e-4)
    assert beyond(chart) == []


def test_ewma_limits_open_from_the_first_point_when_asked():
    chart = ewma_chart(SMOOTHED, target=50, sigma=2.0539, weight=0.3, is_steady=False)

    assert chart.high[:3] == pytest.approx([51.8485, 52.2564, 52.4314], abs=1e-4)
    assert chart.high[-1] == pytest.approx(52.5884, abs=1e-3)
    assert beyond(chart) == []


def test_tabular_cusum_signals_at_the_fourteenth_value():
    cusum = tabular_cusum(SUMMED, target=325, allowance=0.3175, limit=4.1959)

    up = [0, 0, 0, 0, 0.0325, 0, 0, 0, 0, 0, 0, 0, 3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445]
    down = [0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.715, 0.1725, 0.255, 0.3125, 0]
    assert cusum.up == pytest.approx([*up, 16.0025, 19.035])
    assert cusum.down == pytest.approx([*down, *[0] * 8])
    assert np.flatnonzero(cusum.is_beyond)[0] + 1 == 14
