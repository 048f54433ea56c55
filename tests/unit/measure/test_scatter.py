from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from scipy import stats

from pipeline.measure.catalogue import Feature
from pipeline.measure.control.values import moving_range_mean
from pipeline.measure.scatter import (
    FREEDOM_OF_RANGE,
    LEAST_ALIKE,
    Ranges,
    UsualScatter,
    kinds_of,
    moderated,
    usual_of,
)
from pipeline.measure.spans import Spans
from pipeline.measure.wear_excess import excess_on

DAY = date(2026, 10, 25)
FEATURES = (Feature("leak", "", "", "higher", "", ""), Feature("time", "", "", "higher", "", ""))


def spans_of(values: dict[tuple[str, str, str], np.ndarray]) -> Spans:
    """By unit, program and feature, in that order; the last week is the one before DAY."""
    rows = [
        (unit, program, feature, DAY - timedelta(days=6, weeks=len(weeks) - 1 - n), weeks[n])
        for (unit, program, feature), weeks in sorted(values.items())
        for n in range(len(weeks))
    ]
    names = ["unit_serial", "program", "feature", "week_on", "middle"]
    frame = pl.DataFrame(rows, schema=names, orient="row")
    return Spans.of(frame.with_columns(begun_on=date(2020, 1, 1), is_current=True), FEATURES)


# Variances around a usual one follow an F distribution (Smyth 2004, section 3); scipy's is taken.
@pytest.mark.parametrize(("usual", "usual_freedom"), [(2.0, 4.0), (0.001, 30.0), (500.0, 1.0)])
def test_the_usual_variance_and_its_worth_are_found_again(usual, usual_freedom):
    freedom = np.full(200_000, 12.0)
    shares = (np.arange(len(freedom)) + 0.5) / len(freedom)
    found = usual_of(usual * stats.f.ppf(shares, 12.0, usual_freedom), freedom)
    assert found.variance == pytest.approx(usual, rel=0.01)
    assert found.freedom == pytest.approx(usual_freedom, rel=0.02)


def test_variances_that_differ_by_chance_alone_are_taken_for_one():
    variances = 3.0 * np.random.default_rng(1).chisquare(10, 400) / 10
    found = usual_of(np.sort(variances)[20:-20], np.full(360, 10.0))
    assert np.isinf(found.freedom)
    assert found.variance == pytest.approx(3.0, rel=0.1)


@pytest.mark.parametrize("variances", [[], [2.0], [0.0, 0.0, 5.0]])
def test_too_few_tell_nothing_and_values_that_never_change_tell_nothing(variances):
    found = usual_of(np.array(variances), np.full(len(variances), 9.0))
    assert (found.variance, found.freedom) == (0.0, 0.0)


def test_a_variance_is_drawn_as_far_as_both_are_worth():
    usual, worth = np.full(4, 10.0), np.array([6.0, np.inf, 0.0, 6.0])
    found = moderated(np.array([1.0, 1.0, 1.0, 0.0]), np.array([3.0, 3.0, 3.0, 0.0]), usual, worth)
    assert found.tolist() == pytest.approx([7.0, 10.0, 1.0, 10.0])
    nothing = np.zeros(1)
    assert moderated(nothing, nothing, nothing, nothing).tolist() == [0.0]


def test_a_mean_range_is_worth_as_much_as_so_many_degrees_of_freedom():
    weeks = np.random.default_rng(2).normal(0, 1, (20_000, 101))
    means = np.abs(np.diff(weeks, axis=1)).mean(axis=1) / 1.128
    assert means.mean() == pytest.approx(1.0, abs=0.002)
    assert 1 / (2 * means.var()) == pytest.approx(100 * FREEDOM_OF_RANGE, rel=0.04)


def test_ranges_are_those_of_the_weeks_known_by_then():
    weeks = np.random.default_rng(3).normal(5, 2, 20)
    spans = spans_of({("a", "p", "leak"): weeks, ("b", "p", "leak"): weeks[:4]})
    ranges = Ranges.of(spans)
    for count in range(1, 21):
        variances, freedom = ranges.variances(np.array([count, min(count, 4)]))
        mean = moving_range_mean(weeks[:count]) / 1.128 if count > 1 else 0.0
        assert variances[0] == pytest.approx(mean**2)
        assert freedom[0] == pytest.approx(FREEDOM_OF_RANGE * (count - 1))
    assert variances[1] == pytest.approx((moving_range_mean(weeks[:4]) / 1.128) ** 2)


def network() -> dict[tuple[str, str, str], np.ndarray]:
    """Two programs in which the leak scatters otherwise, one that a single unit runs, and times."""
    rng = np.random.default_rng(4)
    units = [f"u{n:02}" for n in range(2 * LEAST_ALIKE)]
    found = {(unit, "quick", "leak"): rng.normal(0, 1, 40) for unit in units}
    found |= {(unit, "slow", "leak"): rng.normal(0, 10, 40) for unit in units}
    return found | {("u00", "rare", "leak"): rng.normal(0, 1, 40)}


def test_programs_have_their_own_usual_scatter_and_a_rare_one_that_of_the_feature():
    usual = UsualScatter.of(spans_of(network()), [DAY])
    kinds = pl.DataFrame(
        {"feature": ["leak", "leak", "leak", "time"], "program": ["quick", "slow", "rare", "slow"]}
    )
    variance, freedom = usual.near(DAY, kinds)
    assert np.sqrt(variance[:2]) == pytest.approx([1, 10], rel=0.1)
    assert 1 < np.sqrt(variance[2]) < 10
    assert (variance[3], freedom[3]) == (0, 0)
    assert freedom[2] < freedom[0]


def test_what_is_usual_on_a_day_does_not_know_what_came_later():
    early = DAY - timedelta(weeks=20)
    values = network()
    later = {key: np.concatenate([weeks[:20], 9 * weeks[20:]]) for key, weeks in values.items()}
    kinds, _ = kinds_of(spans_of(values))
    now, then = (
        UsualScatter.of(spans_of(one), [early]).near(early, kinds) for one in (values, later)
    )
    assert np.array_equal(now, then)


def test_an_excess_does_not_depend_on_how_units_are_portioned():
    spans = spans_of(network())
    usual = UsualScatter.of(spans, [DAY])
    (whole,) = excess_on(spans, [DAY], usual)
    parts = [
        next(iter(excess_on(spans.taken(spans.of_unit % 3 == part), [DAY], usual)))
        for part in range(3)
    ]
    assert pl.concat(parts).sort("unit_serial").equals(whole.sort("unit_serial"))


def test_each_span_is_placed_among_the_kinds():
    spans = spans_of(network())
    kinds, place = kinds_of(spans)
    assert sorted(kinds.rows()) == [("leak", "quick"), ("leak", "rare"), ("leak", "slow")]
    assert kinds["program"].to_numpy()[place].tolist() == spans.program.tolist()


def test_a_span_without_a_week_by_then_has_no_excess():
    spans = spans_of(network())
    before = DAY - timedelta(weeks=60)
    (found,) = excess_on(spans, [before], UsualScatter.of(spans, [before]))
    assert found.is_empty()
