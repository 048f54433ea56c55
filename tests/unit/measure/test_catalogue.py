from datetime import date

import pytest

from pipeline.measure import catalogue
from pipeline.measure.catalogue import Feature, load_features, load_measures
from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from pipeline.practice.profiles import write_profiles
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.statements import statement, statements

MEASURES = load_measures()


@pytest.fixture(scope="module")
def facts():
    con = open_memory()
    build.prepare(con)
    build.rebuild_touched(con)
    write_profiles(con, {})
    build_facts(con, Window.of(date(2026, 10, 31)))
    return con


def test_the_first_measures_are_there():
    assert [one.measure for one in MEASURES] == [
        "spore_week_missed",
        "stopped_all",
        "stopped_equipment",
        "stopped_operator",
        "stopped_unknown",
        "task_late",
    ]
    assert [one.measure for one in MEASURES if one.is_ranked] == [
        "spore_week_missed",
        "stopped_equipment",
        "task_late",
    ]


def test_every_measure_has_both_of_its_files():
    assert [one.name for one in statements("measure")] == [one.measure for one in MEASURES]


@pytest.mark.parametrize("measure", MEASURES, ids=lambda one: one.measure)
def test_a_measure_gives_x_of_n_for_each_unit_and_site_and_nothing_else(measure, facts):
    one = statement("measure", measure.measure)
    window = Window.of(date(2026, 10, 31))
    cursor = facts.execute(one.text, window.parameters(one.parameters))

    assert [(name, str(kind)) for name, kind, *_ in cursor.description] == [
        ("unit_serial", "VARCHAR"),
        ("site_id", "VARCHAR"),
        ("numerator", "BIGINT"),
        ("denominator", "BIGINT"),
    ]


@pytest.mark.parametrize("measure", MEASURES, ids=lambda one: one.measure)
def test_a_measure_says_why_it_matters_what_to_do_and_where_it_comes_from(measure):
    for text in (measure.why, measure.fix, measure.owner, measure.source):
        assert text.strip()
    assert measure.minimum >= 1
    assert measure.target is None or 0 <= measure.target <= 1


def test_every_feature_of_wear_has_a_direction():
    directions = {one.feature: one.worse for one in load_features()}

    assert directions == {
        "heat_up_seconds": "higher",
        "air_removal_min_kpa": "higher",
        "drying_seconds": "higher",
        "hold_min_celsius": "lower",
        "saturation_gap_kelvin": "higher",
        "hold_spread_kelvin": "higher",
        "leak_kpa_per_minute": "higher",
    }


GOOD = {"title": "a", "unit": "b", "worse": "lower", "why": "c", "fix": "d"}


@pytest.mark.parametrize(
    ("declared", "told"),
    [
        (GOOD | {"worse": "sideways"}, 'worse is "sideways"; write lower or higher'),
        (GOOD | {"wy": "c"}, "x.toml has wy, which is not among"),
    ],
)
def test_a_slip_in_a_definition_is_told(declared, told):
    with pytest.raises(AssertionError, match=told):
        catalogue._made(Feature, "x", declared, "x.toml")


def test_a_definition_that_leaves_something_out_is_refused():
    with pytest.raises(TypeError, match="why"):
        catalogue._made(Feature, "x", {k: v for k, v in GOOD.items() if k != "why"}, "x.toml")
