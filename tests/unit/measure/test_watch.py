from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.measure.catalogue import load_measures
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.resets import Resets
from pipeline.measure.stop_chart import follow
from pipeline.measure.watch import edition_days, lead_days, watch_list
from pipeline.measure.watch_signals import SIGNALS, outcome_after
from pipeline.measure.wear_excess import WearExcess

AS_OF = date(2026, 10, 31)
FIRST = date(2024, 6, 1)
DAYS = (AS_OF - FIRST).days + 1
JUDGED = next(one for one in load_measures() if one.measure == "stopped_equipment")
SIGNAL, WATCH = JUDGED.signal, JUDGED.watch
QUIET = dict.fromkeys(range(0, DAYS, 40), 1)
FAILING = dict.fromkeys(range(6), 1)


def counts_of(*stopped_by_days_ago: dict[int, int]) -> DayCounts:
    """Units that run four cycles a day; stops by how many days ago they were."""
    stopped = np.zeros((len(stopped_by_days_ago), DAYS + 1), np.int32)
    for index, stops in enumerate(stopped_by_days_ago):
        for days_ago, count in stops.items():
            stopped[index, DAYS - days_ago] = count
    run = np.full_like(stopped, 4)
    run[:, 0] = 0
    subjects = [f"u{n}" for n in range(len(stopped))]
    return DayCounts(subjects, FIRST, np.cumsum(stopped, axis=1), np.cumsum(run, axis=1))


def listed(counts: DayCounts, repairs=None):
    resets = Resets.none(len(counts.subjects))
    chart = follow(counts, resets, AS_OF, SIGNAL)
    wear = WearExcess(edition_days(AS_OF))
    return watch_list(counts, resets, chart, wear, repairs or {}, AS_OF, SIGNAL, WATCH)


def test_every_signal_has_a_coefficient_and_none_is_without():
    assert set(WATCH.default) == {"intercept", *SIGNALS}


def test_the_failing_unit_stands_first_and_its_evidence_says_why():
    found = listed(counts_of(*[QUIET] * 8, QUIET | FAILING))

    assert found.said.argmax() == 8
    assert found.said[8] > 5 * np.sort(found.said)[-2]
    assert SIGNALS[found.contributions()[8].argmax()] in ("chart", "month", "week")


def test_what_happened_after_an_edition_cannot_change_what_it_said():
    """The same history, and then a month in which everybody fails or nobody does."""
    day = edition_days(AS_OF)[1]
    later = dict.fromkeys(range(20), 1)
    calm = listed(counts_of(*[QUIET] * 6)).past[0]
    wild = listed(counts_of(*[QUIET | later] * 6)).past[0]

    assert calm.day == wild.day == day
    assert calm.said == pytest.approx(wild.said)
    assert not calm.outcome.is_failed.any()
    assert wild.outcome.is_failed.all()


def test_coefficients_are_learned_from_what_was_over_only():
    found = listed(counts_of(*[QUIET] * 6, QUIET | dict.fromkeys(range(10, 27), 1)))

    # The failure lies in the four weeks of the last past edition, which are over today.
    assert found.outcome_count == 1


@pytest.mark.parametrize(
    ("stops", "repaired_days_ago", "is_failed"),
    [
        ({1: 1, 2: 1, 3: 1}, None, False),  # three of 112 are not enough
        ({1: 4, 2: 4, 3: 2}, None, True),
        ({1: 2}, None, False),
        ({}, 5, True),
        ({}, 28, False),  # the day of the edition itself
        ({28: 4, 29: 4, 30: 4}, None, False),  # before it
    ],
)
def test_a_failure_is_a_repair_or_many_stops_in_the_four_weeks(stops, repaired_days_ago, is_failed):
    repairs = {0: [AS_OF.toordinal() - repaired_days_ago]} if repaired_days_ago else {}
    found = outcome_after(AS_OF - timedelta(days=28), counts_of(stops), repairs, WATCH)

    assert found.is_failed.tolist() == [is_failed]


def test_a_failure_has_the_day_on_which_it_had_become_one():
    found = outcome_after(AS_OF - timedelta(days=28), counts_of({20: 2, 10: 2, 5: 6}), {}, WATCH)

    assert date.fromordinal(int(found.failed_on[0])) == AS_OF - timedelta(days=10)


def test_a_unit_that_fell_silent_is_neither_a_failure_nor_sound():
    counts = counts_of({})
    counts.run_before[0, -28:] = counts.run_before[0, -29]

    assert not outcome_after(AS_OF - timedelta(days=28), counts, {}, WATCH).is_seen.any()


def test_lead_days_are_those_from_the_edition_to_the_failure():
    stops = QUIET | dict.fromkeys(range(15, 40), 1) | {10: 4, 9: 4}
    found = listed(counts_of(*[QUIET] * 4, stops))

    assert lead_days(found.past[:1], 1) == [28 - 25]
