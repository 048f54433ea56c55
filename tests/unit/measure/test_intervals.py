import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pipeline.measure.intervals import (
    Interval,
    exact_bounds,
    exact_interval,
    wilson_bounds,
    wilson_interval,
)

STEADY = settings(derandomize=True, deadline=None)

records = st.integers(1, 100_000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@pytest.mark.parametrize("interval", [wilson_interval, exact_interval])
def test_no_cycles_at_all_is_nothing_known(interval) -> None:
    assert interval(0, 0) is None


@pytest.mark.parametrize("interval", [wilson_interval, exact_interval])
def test_none_and_all_reach_exactly_to_the_end_but_not_to_the_other(interval) -> None:
    none, all_of_them = interval(0, 20), interval(20, 20)
    assert none.low == 0.0
    assert 0.1 < none.high < 0.2
    assert all_of_them.high == 1.0
    assert all_of_them.low == pytest.approx(1 - none.high)


@STEADY
@given(st.integers(1, 10**6), st.floats(0.5, 0.999))
def test_the_ends_are_exact_at_any_size_and_confidence(total: int, confidence: float) -> None:
    assert wilson_interval(0, total, confidence).low == 0.0
    assert wilson_interval(total, total, confidence).high == 1.0


@STEADY
@given(records, st.sampled_from([0.8, 0.9, 0.95, 0.998]))
def test_both_are_those_of_scipy(record: tuple[int, int], confidence: float) -> None:
    reference = stats.binomtest(*record)
    for ours, method in ((wilson_interval, "wilson"), (exact_interval, "exact")):
        theirs = reference.proportion_ci(confidence, method)
        interval = ours(*record, confidence)
        assert interval is not None
        assert (interval.low, interval.high) == pytest.approx(
            (theirs.low, theirs.high), rel=1e-7, abs=1e-12
        )


@STEADY
@given(records)
def test_the_share_seen_lies_inside_and_the_exact_interval_is_the_wider(record) -> None:
    wilson, exact = wilson_interval(*record), exact_interval(*record)
    share = record[0] / record[1]
    assert 0 <= wilson.low <= share <= wilson.high <= 1
    assert 0 <= exact.low <= share <= exact.high <= 1
    assert exact.high - exact.low > 0


def test_a_thousand_thousand_million_cycles_still_make_a_range() -> None:
    total = 10**12
    interval = wilson_interval(total // 10, total)
    assert interval.low < 0.1 < interval.high
    assert interval.high - interval.low == pytest.approx(2 * 1.96 * 0.3 / 10**6, rel=1e-3)
    assert exact_interval(0, total).high == pytest.approx(3.6889e-12, rel=1e-4)


@pytest.mark.parametrize(
    ("bounds", "interval"), [(wilson_bounds, wilson_interval), (exact_bounds, exact_interval)]
)
def test_the_arrays_hold_what_the_function_for_one_says(bounds, interval) -> None:
    events, totals = [0, 3, 0, 7], [0, 20, 9, 7]
    low, high = bounds(events, totals, 0.9)
    assert np.isnan(low[0])
    assert np.isnan(high[0])
    for place in (1, 2, 3):
        one = interval(events[place], totals[place], 0.9)
        assert one == Interval(low[place], high[place])


def test_more_events_than_cycles_cannot_be() -> None:
    with pytest.raises(AssertionError, match="within"):
        wilson_interval(21, 20)
