import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pipeline.measure import positions as positions_module
from pipeline.measure.positions import positions, worst_tenth
from pipeline.measure.shrinkage import Prior, fit_prior

PRIOR = Prior(alpha=1.8, beta=58.2, mean_share=0.03, is_pooled=False)
#                   clearly worst   small and bad   four alike          clearly best
EVENTS = np.array([90, 3, 12, 12, 12, 12, 2])
TOTALS = np.array([600,             20,             400, 400, 400, 400, 900])  # fmt: skip

STEADY = settings(derandomize=True, deadline=None, max_examples=30)


def test_the_worst_is_first_and_the_small_one_could_be_nearly_anywhere() -> None:
    found = positions(PRIOR, EVENTS, TOTALS, better="lower")
    assert (found.low[0], found.high[0]) == (1, 1)
    assert (found.low[6], found.high[6]) == (7, 7)
    assert found.low[1] == 2
    assert found.high[1] >= 5


def test_where_more_is_better_the_list_is_turned_round() -> None:
    lower = positions(PRIOR, EVENTS, TOTALS, better="lower")
    higher = positions(PRIOR, EVENTS, TOTALS, better="higher")
    assert (higher.low[0], higher.high[0]) == (7, 7)
    assert (higher.low[6], higher.high[6]) == (1, 1)
    assert higher.p_worse == pytest.approx(1 - lower.p_worse)


def test_the_same_record_gets_the_same_range() -> None:
    found = positions(PRIOR, EVENTS, TOTALS, better="lower", draws=50)
    for column in (found.low, found.high, found.p_worse):
        assert len(set(column[2:6])) == 1


def test_p_worse_is_the_exact_tail_of_the_posterior() -> None:
    found = positions(PRIOR, EVENTS, TOTALS, better="lower", draws=1)
    together = EVENTS.sum() / TOTALS.sum()
    tails = stats.beta.sf(together, 1.8 + EVENTS, 58.2 + TOTALS - EVENTS)
    assert found.p_worse == pytest.approx(tails, rel=1e-9)


def test_two_subjects_change_places_as_often_as_their_posteriors_say() -> None:
    """P(3/20 > 30/200) with flat priors is 0.595 by numeric integration, so both can be first."""
    flat = Prior(1.0, 1.0, 0.5, is_pooled=False)
    apart = positions(flat, [9, 30], [150, 200], better="lower")
    assert list(zip(apart.low, apart.high, strict=True)) == [(2, 2), (1, 1)]
    close = positions(flat, [3, 30], [20, 200], better="lower")
    assert list(zip(close.low, close.high, strict=True)) == [(1, 2), (1, 2)]


def test_pooled_subjects_may_have_any_position() -> None:
    prior = fit_prior([5, 5, 5], [100, 100, 100])
    assert prior is not None
    assert prior.is_pooled
    found = positions(prior, [5, 5, 5], [100, 100, 100], better="lower")
    assert list(found.low) == [1, 1, 1]
    assert list(found.high) == [3, 3, 3]
    assert list(found.p_worse) == [0.5, 0.5, 0.5]


def test_one_subject_is_first_of_one() -> None:
    found = positions(PRIOR, [3], [20], better="lower")
    assert (found.low[0], found.high[0]) == (1, 1)


def test_the_range_holds_the_true_position_nine_times_in_ten() -> None:
    generator = np.random.default_rng(5)
    inside = []
    for _ in range(60):
        shares = generator.beta(1.8, 58.2, 20)
        totals = generator.integers(30, 600, 20)
        found = positions(
            PRIOR, generator.binomial(totals, shares), totals, better="lower", draws=500
        )
        truth = np.argsort(np.argsort(-shares)) + 1
        inside.append((found.low <= truth) & (truth <= found.high))
    assert 0.88 < np.mean(inside) < 0.97


def test_a_second_run_gives_the_same_bytes_and_another_seed_nearly_the_same() -> None:
    first, second = (positions(PRIOR, EVENTS, TOTALS, better="lower") for _ in range(2))
    assert (
        first.low.tobytes() + first.high.tobytes() == second.low.tobytes() + second.high.tobytes()
    )
    other = positions(PRIOR, EVENTS, TOTALS, better="lower", seed=1)
    assert np.abs(other.low - first.low).max() <= 1
    assert np.abs(other.high - first.high).max() <= 1


def test_portions_of_the_draws_do_not_change_them(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = positions(PRIOR, EVENTS, TOTALS, better="lower", draws=200)
    monkeypatch.setattr("pipeline.measure.positions.DRAWN_AT_ONCE", 30)
    portioned = positions(PRIOR, EVENTS, TOTALS, better="lower", draws=200)
    assert np.array_equal(whole.low, portioned.low)
    assert np.array_equal(whole.high, portioned.high)


@STEADY
@given(st.permutations(range(7)))
def test_the_order_of_the_subjects_changes_nothing(order: list[int]) -> None:
    plain = positions(PRIOR, EVENTS, TOTALS, better="lower", draws=200)
    shuffled = positions(PRIOR, EVENTS[order], TOTALS[order], better="lower", draws=200)
    for column in ("low", "high", "p_worse"):
        assert np.array_equal(getattr(shuffled, column), getattr(plain, column)[order])


def test_among_many_the_ranges_are_nearly_those_of_the_draws(monkeypatch):
    """Seeded: 2,500 units; both ends within 3 % of the number of places of the drawn ones."""
    rng = np.random.default_rng(9)
    totals = rng.integers(50, 3000, 2500)
    events = rng.binomial(totals, rng.beta(2, 80, 2500))
    prior = fit_prior(events, totals)
    quick = positions(prior, events, totals, better="lower")
    monkeypatch.setattr(positions_module, "MANY", 10_000)
    drawn = positions(prior, events, totals, better="lower")

    assert np.abs(quick.low - drawn.low).max() < 75
    assert np.abs(quick.high - drawn.high).max() < 75
    assert quick.p_worse.tolist() == drawn.p_worse.tolist()
    assert (quick.low <= quick.high).all()


def test_among_many_equal_records_have_equal_ranges_in_any_order():
    rng = np.random.default_rng(9)
    totals = rng.integers(50, 60, 2500)
    events = rng.binomial(totals, rng.beta(2, 80, 2500))
    prior = fit_prior(events, totals)
    found = positions(prior, events, totals, better="higher")
    back = positions(prior, events[::-1], totals[::-1], better="higher")

    assert found.low.tolist() == back.low[::-1].tolist()
    ranges = {}
    for record in zip(events, totals, found.low, found.high, strict=True):
        ranges.setdefault(record[:2], set()).add(record[2:])
    assert all(len(one) == 1 for one in ranges.values())


def test_the_chances_of_the_worst_tenth_add_up_to_its_size() -> None:
    rng = np.random.default_rng(8)
    totals = rng.integers(50, 900, 45)
    events = rng.binomial(totals, rng.beta(1.8, 58.2, 45))
    found = positions(PRIOR, events, totals, better="lower")

    assert worst_tenth(45) == 5
    assert found.p_tenth.sum() == pytest.approx(5)
    assert found.p_tenth[np.argmax(found.p_worse)] > 0.99
    assert found.p_tenth[np.argmin(found.p_worse)] < 0.01


def test_the_worst_of_seven_is_the_tenth_by_itself() -> None:
    found = positions(PRIOR, EVENTS, TOTALS, better="lower")

    assert found.p_tenth[0] > 0.95
    assert found.p_tenth[6] == 0
    turned = positions(PRIOR, EVENTS, TOTALS, better="higher")
    assert turned.p_tenth[6] > 0.95


@pytest.mark.parametrize("better", ["lower", "higher"])
def test_among_many_the_chance_of_the_worst_tenth_is_that_of_the_draws(monkeypatch, better):
    rng = np.random.default_rng(9)
    totals = rng.integers(50, 900, 400)
    events = rng.binomial(totals, rng.beta(1.8, 58.2, 400))
    drawn = positions(PRIOR, events, totals, better=better)
    monkeypatch.setattr(positions_module, "MANY", 100)
    placed = positions(PRIOR, events, totals, better=better)

    assert placed.p_tenth.sum() == pytest.approx(40, abs=0.5)
    assert np.abs(placed.p_tenth - drawn.p_tenth).max() < 0.06


def test_pooled_subjects_share_the_tenth_alike() -> None:
    prior = Prior(15, 285, 0.05, is_pooled=True)

    assert positions(prior, [5, 5, 5], [100, 100, 100], better="lower").p_tenth == pytest.approx(
        [1 / 3] * 3
    )
