import numpy as np
import pytest

from pipeline.measure.watch_skill import area, bands, skill

FAILED = np.array([True, False, True, False, False])
SCORES = np.array([0.9, 0.8, 0.4, 0.4, 0.1])


def test_the_area_counts_pairs_in_the_right_order_and_ties_half():
    pairs = [(yes > no) + (yes == no) / 2 for yes in SCORES[FAILED] for no in SCORES[~FAILED]]

    assert area(SCORES, FAILED) == pytest.approx(np.mean(pairs))
    assert area(FAILED.astype(float), FAILED) == 1
    assert area(np.zeros(5), FAILED) == 0.5


def test_brier_is_the_mean_squared_error_and_is_held_against_the_base_rate():
    found = skill([(SCORES, FAILED)], is_probability=True)

    assert found.brier == pytest.approx(np.mean((SCORES - FAILED) ** 2))
    assert found.brier_of_base_rate == pytest.approx(0.4 * 0.6)
    assert skill([(SCORES, FAILED)], is_probability=False).brier is None


def test_precision_looks_at_the_first_ten_of_each_edition():
    many = np.linspace(1, 0, 30), np.arange(30) % 2 == 0
    few = SCORES, FAILED

    assert skill([many], is_probability=False).precision == 0.5
    assert skill([many, few], is_probability=False).precision == pytest.approx((5 + 2) / (10 + 5))


def test_bands_count_every_unit_once():
    said = np.array([0.0, 0.01, 0.02, 0.5, 1.0])
    found = bands(said, np.array([False, False, True, True, True]))

    assert [(one.low, one.unit_count, one.failed_count) for one in found] == [
        (0.0, 2, 0),
        (0.02, 1, 1),
        (0.4, 2, 2),
    ]
    assert found[-1].said == 0.75
