"""Early warning on engines that nobody of this project made: run until they failed.

What is told weeks before the failure is held against the one-line rule of `turbofan.py`, which
names the data. The engines are simulated too, by others; of the sensors only one is used.
"""

from datetime import timedelta

import numpy as np
import polars as pl
import pytest

from pipeline.measure.drift import judge
from tests.published.turbofan import (
    AHEAD_WEEKS,
    BEGIN,
    ENGINES,
    FIRST_WEEK,
    area,
    lead_weeks,
    scored,
    weekly,
)


@pytest.fixture(scope="module", params=[4, 5, 7])
def rows(request) -> pl.DataFrame:
    return scored(request.param)


def test_the_engines_are_those_of_the_source():
    assert len(ENGINES) == 80
    assert (min(map(len, ENGINES.values())), max(map(len, ENGINES.values()))) == (128, 362)
    assert ENGINES["001"][:3] == pytest.approx([47.47, 47.49, 47.27])


def test_weeks_before_a_failure_stand_out_more_than_by_the_one_line_rule(rows):
    is_failing = (rows["weeks_left"] <= AHEAD_WEEKS).to_numpy()
    excess, rule = (area(rows[name].to_numpy(), is_failing) for name in ("excess", "rule"))
    assert excess > 0.96
    assert 0.9 < rule < excess


def test_alarms_come_as_early_as_by_the_one_line_rule_and_miss_no_more_engines(rows):
    ours, rule = lead_weeks(rows, "excess"), lead_weeks(rows, "rule")
    assert ours.mean() >= max(rule.mean(), 3.5)
    assert (ours == 0).sum() <= (rule == 0).sum()


def test_every_engine_is_called_drifting_weeks_before_it_fails():
    flights = 7
    spans, called = weekly(flights), {}
    for week in range(FIRST_WEEK, max(map(len, ENGINES.values())) // flights + 1):
        found = judge(spans, BEGIN + timedelta(weeks=week, days=-1))
        for name in spans.unit[found.reason == "outside"]:
            called.setdefault(name, len(ENGINES[name]) / flights - week)
    assert called.keys() == ENGINES.keys()
    assert np.quantile(list(called.values()), 0.05) > AHEAD_WEEKS
