from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.measure.day_counts import DayCounts
from pipeline.measure.difference import newcombe_interval
from pipeline.measure.repair import repair_rows
from pipeline.measure.resets import Resets
from pipeline.measure.window import Window

AS_OF = date(2026, 10, 31)
FIRST = date(2026, 1, 1)
DAYS = (AS_OF - FIRST).days + 1
REPAIRED = date(2026, 6, 1)


def counts_of(stopped_before: int, stopped_after: int) -> DayCounts:
    """Ten load cycles a day; so many stopped on each day up to the repair's, and after it."""
    stopped = np.array(
        [stopped_before if FIRST + timedelta(days=n) <= REPAIRED else stopped_after
         for n in range(DAYS)]
    )  # fmt: skip
    tables = [np.concatenate([[0], np.cumsum(one)]) for one in (stopped, np.full(DAYS, 10))]
    return DayCounts(["U"], FIRST, *(one[np.newaxis].astype(np.int32) for one in tables))


@pytest.fixture
def con(warehouse_of, network_rows):
    return warehouse_of(network_rows)


def rows_of(con, counts, repairs, others=()):
    con.execute("DELETE FROM model.task")
    for day, kind in [*((one, "repair") for one in repairs), *others]:
        con.execute(
            "INSERT INTO model.task BY NAME SELECT 'U' AS unit_serial, 'q' AS site_id, "
            "? AS task, ? AS kind, ?::DATE AS done_on",
            [kind, kind, day],
        )
    days = sorted([*repairs, *(day for day, _ in others)])
    resets = Resets(1, np.zeros(len(days), np.int64), np.array([d.toordinal() for d in days]))
    return repair_rows(con, Window.of(AS_OF), counts, resets)


@pytest.mark.parametrize(
    ("before", "after", "outcome"), [(2, 0, "fewer"), (0, 2, "more"), (1, 1, "cannot_tell")]
)
def test_a_repair_is_followed_by_fewer_stops_more_or_nobody_can_tell(con, before, after, outcome):
    (row,) = rows_of(con, counts_of(before, after), [REPAIRED]).iter_rows(named=True)

    assert row["outcome"] == outcome
    assert (row["run_before"], row["run_after"]) == (560, 560)
    assert (row["stopped_before"], row["stopped_after"]) == (56 * before, 56 * after)
    expected = newcombe_interval(56 * after, 560, 56 * before, 560)
    assert (row["difference_low"], row["difference_high"]) == (expected.low, expected.high)
    assert row["difference"] == pytest.approx((after - before) / 10)


def test_what_lies_beyond_another_fresh_start_tells_of_another_unit(con):
    serviced = [(REPAIRED - timedelta(days=5), "service"), (REPAIRED + timedelta(days=8), "move")]
    (row,) = rows_of(con, counts_of(2, 0), [REPAIRED], serviced).iter_rows(named=True)

    assert (row["run_before"], row["run_after"]) == (40, 70)


def test_a_repair_of_the_last_day_has_no_after(con):
    (row,) = rows_of(con, counts_of(2, 0), [AS_OF]).iter_rows(named=True)

    assert (row["run_after"], row["difference"], row["outcome"]) == (0, None, "too_few")
