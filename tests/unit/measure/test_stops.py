from datetime import date, timedelta

import numpy as np
import pytest
from scipy import stats

from pipeline.measure.catalogue import Signal
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.multiplicity import benjamini_hochberg
from pipeline.measure.resets import Resets
from pipeline.measure.stops import recent, year

AS_OF = date(2026, 10, 31)
FIRST = date(2025, 1, 1)
DAYS = (AS_OF - FIRST).days + 1
SIGNAL = Signal(4.0, 1.0, 0.75, 28, 7, 0.1, 3)


def counts_of(**stopped_by_days_ago: dict[int, int]) -> DayCounts:
    """Units that run ten cycles a day; stops by how many days ago they were."""
    stopped = np.zeros((len(stopped_by_days_ago), DAYS + 1), np.int32)
    for index, stops in enumerate(stopped_by_days_ago.values()):
        for days_ago, count in stops.items():
            stopped[index, DAYS - days_ago] = count
    run = np.full_like(stopped, 10)
    run[:, 0] = 0
    return DayCounts(
        list(stopped_by_days_ago), FIRST, np.cumsum(stopped, axis=1), np.cumsum(run, axis=1)
    )


def every(days: int, since: int = 0) -> dict[int, int]:
    return dict.fromkeys(range(since, 600, days), 1)


def test_a_span_is_half_open_and_what_lies_before_the_history_is_nothing():
    counts = counts_of(a={0: 2, 1: 1})

    assert [one.tolist() for one in counts.between(AS_OF, AS_OF + timedelta(1))] == [[2], [10]]
    assert [one.tolist() for one in counts.between(AS_OF - timedelta(1), AS_OF)] == [[1], [10]]
    assert [one.tolist() for one in counts.between(date(2020, 1, 1), FIRST)] == [[0], [0]]


def test_the_first_day_heard_is_that_of_the_first_load_cycle():
    counts = counts_of(a={}, b={})
    counts.run_before[1, :] = 0
    counts.run_before[1, 6:] = 10

    assert counts.heard_from() == [FIRST, FIRST + timedelta(days=5)]


def lately(counts: DayCounts, *repaired: tuple[int, int], as_of: date = AS_OF):
    """What the recent days look like; `repaired` holds unit numbers and days ago, by unit."""
    units = np.array([unit for unit, _ in repaired], np.int64)
    days = np.array([AS_OF.toordinal() - ago for _, ago in repaired], np.int64)
    return recent(counts, Resets(len(counts.subjects), units, days), as_of, SIGNAL)


def test_the_last_28_days_are_judged_by_the_units_own_year_before():
    """Alike units are pooled: 28 stops of 7,300 cycles are usual, and 280 cycles were run."""
    found = lately(counts_of(steady=every(28, since=28), failing=every(28, since=28) | {9: 6}))

    usual = 28 / 7300
    assert found.long.run.tolist() == [280, 280]
    assert found.long.stopped.tolist() == [0, 6]
    assert found.expected == pytest.approx([280 * usual] * 2)
    assert found.long.p_value == pytest.approx(stats.binom.sf([-1, 5], 280, usual))
    assert found.p_value == pytest.approx([1, 2 * stats.binom.sf(5, 280, usual)])
    assert found.adjusted_p == pytest.approx(benjamini_hochberg(found.p_value))
    assert found.is_signal.tolist() == [False, True]


def test_a_week_tells_what_a_month_hides():
    found = lately(counts_of(a=every(5, since=28) | {3: 2, 4: 3}))

    assert (found.long.stopped[0], found.short.stopped[0], found.short.run[0]) == (5, 5, 70)
    assert found.short.p_value[0] < found.long.p_value[0]
    assert found.p_value[0] == pytest.approx(2 * found.short.p_value[0])


def test_what_lies_before_a_repair_does_not_count_any_more():
    counts = counts_of(a=every(28, since=28) | {9: 6}, b=every(28, since=28) | {9: 6})
    found = lately(counts, (0, 9))

    assert found.long.stopped.tolist() == [0, 6]
    assert found.long.run.tolist() == [90, 280]
    assert found.is_signal.tolist() == [False, True]


def test_a_repair_is_not_known_before_its_day():
    counts = counts_of(a=every(28, since=28) | {9: 6}, b=every(28, since=28))

    assert lately(counts, (0, 2), as_of=AS_OF - timedelta(days=3)).is_signal[0]
    assert not lately(counts, (0, 2), as_of=AS_OF - timedelta(days=2)).is_signal[0]


def test_the_28th_day_is_in_and_the_29th_belongs_to_the_year_before():
    found = lately(counts_of(a={27: 1, 28: 1}))

    assert found.long.stopped.tolist() == [1]
    assert found.usual_share == pytest.approx([1 / 3650])


@pytest.mark.parametrize(("stops", "is_signal"), [(2, False), (3, True)])
def test_two_stops_are_never_a_signal_however_rare_stops_are(stops, is_signal):
    found = lately(counts_of(a={3: stops, 200: 1}))

    assert found.adjusted_p[0] < 0.1
    assert found.is_signal.tolist() == [is_signal]


def test_the_more_units_are_asked_the_less_chance_is_left_to_each():
    """Five stops where 1.3 are usual: enough among two units, not among two hundred."""
    odd = every(21, since=28) | {9: 5}
    few = lately(counts_of(odd=odd, other=every(21)))
    many = lately(counts_of(odd=odd, **{f"u{n}": every(21, since=n % 21) for n in range(199)}))

    assert few.is_signal[0]
    assert many.p_value[0] == pytest.approx(few.p_value[0], rel=0.2)
    assert not many.is_signal.any()


def test_nothing_run_before_means_that_nothing_is_usual_and_nothing_is_a_signal():
    found = lately(counts_of(a={3: 5}), as_of=FIRST + timedelta(days=20))

    assert np.isnan(found.adjusted_p).all()
    assert not found.is_signal.any()


def test_the_year_compares_with_all_together_and_names_who_is_above_the_outer_limit():
    units = {f"u{n}": every(20) for n in range(9)} | {"often": every(5)}
    found = year(counts_of(**units), AS_OF, minimum=100)

    share = (9 * 19 + 73) / 36500
    assert found.expected[-1] == pytest.approx(3650 * share)
    assert found.is_signal.tolist() == [False] * 9 + [True]


def test_the_year_does_not_judge_who_ran_too_little():
    units = {f"u{n}": every(20) for n in range(9)} | {"often": every(5)}

    assert not year(counts_of(**units), AS_OF, minimum=3651).is_signal.any()


def test_the_year_lets_go_of_who_has_been_mended():
    """The same year, but none of its stops in the last quarter."""
    units = {f"u{n}": every(20) for n in range(9)}
    mended = year(counts_of(**units, mended=every(3, since=100)), AS_OF, minimum=100)
    often = year(counts_of(**units, often=every(3)), AS_OF, minimum=100)

    assert mended.stopped[-1] > 80
    assert (mended.is_signal[-1], often.is_signal[-1]) == (False, True)
