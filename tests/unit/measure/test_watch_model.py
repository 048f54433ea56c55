import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.discrete.discrete_model import Logit

from pipeline.measure.watch_model import History, climbed, fitted, in_order, probability

STEADY = settings(derandomize=True, deadline=None)
DEFAULT = np.array([-3.0, 1.0, 0.5])


def history(size: int, seed: int = 1):
    rng = np.random.default_rng(seed)
    signals = rng.normal(0, 1, (size, 2))
    outcomes = rng.random(size) < probability(np.array([-1.5, 0.8, -0.4]), signals)
    return signals, outcomes


def test_without_a_history_the_default_stands():
    found = fitted(np.empty((0, 2)), np.empty(0, np.bool_), DEFAULT, 2.0)

    assert found == pytest.approx(DEFAULT)


def test_with_hardly_any_ridge_it_is_the_logit_of_statsmodels():
    signals, outcomes = history(500)
    theirs = Logit(outcomes, np.column_stack([np.ones(500), signals])).fit(disp=0).params

    assert fitted(signals, outcomes, DEFAULT, 1e-9) == pytest.approx(theirs, abs=1e-6)


def test_the_more_history_the_farther_from_the_default():
    truth = np.array([-1.5, 0.8, -0.4])
    away = [
        np.abs(fitted(*history(size), DEFAULT, 20.0) - truth).max() for size in (20, 400, 20_000)
    ]

    assert away[0] > away[1] > away[2]
    assert away[2] < 0.1


def test_at_the_top_the_slope_is_nought():
    signals, outcomes = history(200)
    at = fitted(signals, outcomes, DEFAULT, 2.0)
    rows = np.column_stack([np.ones(200), signals])

    slope = rows.T @ (outcomes - probability(at, signals)) - 2.0 * (at - DEFAULT)
    assert slope == pytest.approx(np.zeros(3), abs=1e-6)


@STEADY
@given(st.permutations(range(30)))
def test_the_order_of_the_history_changes_no_bit(order):
    signals, outcomes = history(30)

    assert (
        fitted(signals, outcomes, DEFAULT, 2.0).tobytes()
        == fitted(signals[order], outcomes[order], DEFAULT, 2.0).tobytes()
    )


def test_where_the_climb_begins_does_not_matter_nor_in_how_many_parts_the_history_came():
    signals, outcomes = history(400)
    parts = [in_order(signals[:150], outcomes[:150]), in_order(signals[150:], outcomes[150:])]
    whole = fitted(signals, outcomes, DEFAULT, 2.0)
    near, far = np.array([-1.5, 0.8, -0.4]), np.array([3.0, -4.0, 2.0])

    for start in (near, far):
        assert climbed(History.joined(parts), DEFAULT, 2.0, start) == pytest.approx(whole, abs=1e-9)
    later = fitted(signals[150:], outcomes[150:], DEFAULT, 2.0)
    assert climbed(History.joined(parts).after(150), DEFAULT, 2.0, near) == pytest.approx(
        later, abs=1e-9
    )


def test_a_signal_that_tells_all_does_not_run_away():
    signals = np.column_stack([np.repeat([0.0, 1.0], 20), np.zeros(40)])
    found = fitted(signals, signals[:, 0] > 0.5, DEFAULT, 2.0)

    assert np.isfinite(found).all()
    assert found[1] > 1
