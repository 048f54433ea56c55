from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.measure.catalogue import Signal
from pipeline.measure.control.bernoulli import run_length
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.resets import Resets
from pipeline.measure.stop_chart import follow, set_limits

AS_OF = date(2026, 10, 31)
FIRST = date(2024, 1, 1)
DAYS = (AS_OF - FIRST).days + 1
SIGNAL = Signal(4.0, 1.0, 0.75, 28, 7, 0.1, 3)


def counts_of(stopped_by_days_ago: list[dict[int, int]], run: int = 4) -> DayCounts:
    """Units that run so many cycles a day; stops by how many days ago they were."""
    stopped = np.zeros((len(stopped_by_days_ago), DAYS + 1), np.int32)
    for index, stops in enumerate(stopped_by_days_ago):
        for days_ago, count in stops.items():
            stopped[index, DAYS - days_ago] = count
    ran = np.full_like(stopped, run)
    ran[:, 0] = 0
    subjects = [f"u{n}" for n in range(len(stopped))]
    return DayCounts(subjects, FIRST, np.cumsum(stopped, axis=1), np.cumsum(ran, axis=1))


def every(days: int, since: int = 0) -> dict[int, int]:
    return dict.fromkeys(range(since, 1000, days), 1)


def repaired(size: int, unit: int, days_ago: int) -> Resets:
    return Resets(size, np.array([unit]), np.array([AS_OF.toordinal() - days_ago]))


@pytest.mark.parametrize("size", [3, 40])
def test_limits_keep_the_budget_whatever_the_number_of_units(size):
    """Each unit's run length is at least a quarter of its cycles times the units: one a quarter."""
    limits = set_limits(counts_of([every(25)] * size), date(2026, 10, 1), SIGNAL)
    share, worth, limit = limits.share[0], int(limits.worth[0]), int(limits.limit[0])

    assert run_length(share, worth, limit) >= 4 * 91 * size
    assert run_length(share, worth, limit) < 4 * 91 * size * 2.5


def test_more_units_or_a_smaller_budget_make_limits_wider():
    day = date(2026, 10, 1)
    few, many = (set_limits(counts_of([every(25)] * n), day, SIGNAL).limit[0] for n in (3, 60))
    strict = Signal(4.0, 0.1, 0.75, 28, 7, 0.1, 3)

    assert few < many
    assert few < set_limits(counts_of([every(25)] * 3), day, strict).limit[0]


def test_the_usual_share_is_taken_from_the_upper_end_of_what_is_plausible():
    limits = set_limits(counts_of([every(25)] * 3), date(2026, 10, 1), SIGNAL)

    assert 0.01 < limits.share[0] < 0.0125


def test_a_unit_that_fails_within_days_is_named_and_the_others_are_not():
    chart = follow(
        counts_of([every(25), every(25) | {2: 2, 3: 2, 4: 2, 5: 1}]), Resets.none(2), AS_OF, SIGNAL
    )

    assert chart.is_signal(AS_OF).tolist() == [False, True]
    assert chart.is_signal(AS_OF - timedelta(days=6)).tolist() == [False, False]
    assert chart.risen_from()[1] == AS_OF - timedelta(days=5)


def test_a_slow_rise_is_named_though_no_month_stands_out():
    """A stop every five days instead of every 25: fewer than six in four weeks."""
    slow = {ago: 1 for ago in every(25) if ago >= 90} | dict.fromkeys(range(0, 90, 5), 1)
    chart = follow(counts_of([every(25), slow]), Resets.none(2), AS_OF, SIGNAL)

    assert chart.is_signal(AS_OF).tolist() == [False, True]


def test_a_repair_sets_the_sum_back():
    counts = counts_of([every(25), every(25) | {4: 2, 5: 2, 6: 2, 7: 2}])
    chart = follow(counts, repaired(2, 1, 3), AS_OF, SIGNAL)

    assert chart.is_signal(AS_OF - timedelta(days=4))[1]
    assert chart.levels[1, -4] == 0
    assert not chart.is_signal(AS_OF - timedelta(days=3))[1]


def test_a_unit_that_recovers_comes_down_within_an_event_s_worth_of_cycles():
    counts = counts_of([every(25), every(25) | dict.fromkeys(range(60, 80), 4)])
    chart = follow(counts, Resets.none(2), AS_OF, SIGNAL)
    worth = set_limits(counts, AS_OF.replace(day=1), SIGNAL).worth[1]

    assert chart.is_signal(AS_OF - timedelta(days=60))[1]
    assert not chart.is_signal(AS_OF - timedelta(days=60 - 2 * int(worth / 4) - 1))[1]


def test_the_past_is_the_same_whenever_it_is_looked_at():
    counts = counts_of([every(25), every(25) | {40: 2, 41: 2, 42: 2}])
    day = AS_OF - timedelta(days=21)
    now = follow(counts, Resets.none(2), AS_OF, SIGNAL)
    then = follow(counts, Resets.none(2), day, SIGNAL)

    assert now.first_on == then.first_on
    assert then.levels == pytest.approx(now.levels[:, : then.levels.shape[1]])


def test_nothing_is_named_before_anything_is_known():
    counts = counts_of([every(25)])
    chart = follow(counts, Resets.none(1), FIRST + timedelta(days=20), SIGNAL)

    assert np.isnan(chart.levels[:, 0]).all()
    assert not chart.is_signal(FIRST).any()
    assert not chart.is_signal(date(2020, 1, 1)).any()
