from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.measure.day_counts import DayCounts
from pipeline.tryout.score import Score, _clusters, _is_worn

FIRST, LAST = date(2026, 1, 1), date(2026, 6, 30)
TRUTH = {
    "units": [
        {
            "unit_serial": "worn",
            "wears": [{"component": "pump", "since_on": "2026-03-01"}],
            "repairs": [{"on": "2026-05-01", "component": "pump"}],
        },
        {"unit_serial": "sound", "wears": [], "repairs": []},
    ]
}


def counts_of(**stopped_on: list[date]) -> DayCounts:
    days = (LAST - FIRST).days + 1
    stopped = np.zeros((len(stopped_on), days + 1), np.int32)
    for index, ones in enumerate(stopped_on.values()):
        for day in ones:
            stopped[index, (day - FIRST).days + 1] += 1
    run = np.full_like(stopped, 4)
    run[:, 0] = 0
    before = [np.cumsum(one, axis=1, dtype=np.int32) for one in (stopped, run)]
    return DayCounts(list(stopped_on), FIRST, *before)


@pytest.mark.parametrize(
    ("day", "is_worn"),
    [
        (date(2026, 1, 31), False),
        (date(2026, 2, 1), True),  # four weeks before the wear begins
        (date(2026, 5, 1), True),
        (date(2026, 5, 2), False),  # renewed
    ],
)
def test_a_part_is_worn_from_four_weeks_before_it_begins_until_it_is_renewed(day, is_worn):
    assert _is_worn(TRUTH, "worn", day) == is_worn
    assert not _is_worn(TRUTH, "sound", day)


def test_the_first_cluster_after_the_wear_began_is_the_one_to_be_foretold():
    early = [date(2026, 2, 1) + timedelta(days=n) for n in range(3)]
    late = [date(2026, 4, 1), date(2026, 4, 8), date(2026, 4, 14), date(2026, 4, 15)]
    found = _clusters(TRUTH, counts_of(worn=early + late, sound=late), FIRST, LAST)

    assert found == [("worn", date(2026, 4, 14))]


def test_stops_that_lie_apart_are_no_cluster():
    apart = [date(2026, 4, 1), date(2026, 4, 9), date(2026, 4, 17)]

    assert _clusters(TRUTH, counts_of(worn=apart), FIRST, LAST) == []


def test_the_score_is_said_in_a_sentence():
    assert str(Score(19, {14: 12, 7: 13}, 87, 40)) == (
        "Of 19 units that wore out and stopped in a cluster, on the watch list: "
        "14 days before it 12, 7 days before it 13. "
        "Of 87 places on past lists, 40 were units in which nothing wore."
    )
