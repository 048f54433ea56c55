"""The lines of a trace: what was not logged is left out, and a page gets no more than it shows."""

import numpy as np

from pipeline.render.charts.curve import outline, runs

SECONDS = np.arange(5000.0)
SPIKY = np.full(5000, 134.0)
SPIKY[[1234, 2345]] = 137.0, 131.0


def test_a_line_has_the_samples_at_which_it_turns():
    ((seconds, values),) = runs(SECONDS, SPIKY, 0.1)
    assert seconds.tolist() == [0, 1233, 1234, 1235, 2344, 2345, 2346, 4999]
    assert values.tolist() == [134, 134, 137, 134, 134, 131, 134, 134]


def test_each_line_between_two_pauses_has_its_own_samples_and_a_lone_one_has_no_line():
    seconds = np.array([0.0, 1.0, 2.0, 20.0, 40.0, 41.0])
    found = runs(seconds, np.arange(6.0), 0.1)
    assert [(at.tolist(), values.tolist()) for at, values in found] == [
        ([0, 2], [0, 2]),
        ([40, 41], [4, 5]),
    ]


def test_a_value_that_was_not_logged_is_as_if_it_had_no_sample():
    """A pressure every second line of a log is no pause each time."""
    logged = np.where(SECONDS % 2 == 0, SPIKY, np.nan)
    ((seconds, values),) = runs(SECONDS, logged, 0.1)
    assert seconds.tolist() == [0, 1232, 1234, 1236, 4998]
    assert values.tolist() == [134, 134, 137, 134, 134]
    assert runs(SECONDS, np.full(5000, np.nan), 0.1) == []


def test_an_outline_keeps_every_peak():
    seconds, values = outline((SECONDS, SPIKY), 300)
    kept = dict(zip(seconds.tolist(), values.tolist(), strict=True))
    assert len(seconds) == len(kept) <= 300
    assert list(kept) == sorted(kept)
    assert (kept[0], kept[1234], kept[2345], kept[4999]) == (134, 137, 131, 134)


def test_an_outline_of_few_samples_is_all_of_them():
    run = (SECONDS[:300], SPIKY[:300])
    assert outline(run, 300) is run
