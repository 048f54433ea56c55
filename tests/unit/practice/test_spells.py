"""One profile after another, cut into dated rules as if a single profile had said it all."""

from dataclasses import replace
from datetime import date

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.config.network import PracticeChange
from pipeline.practice.periods import full_name, until, within
from pipeline.practice.profile import Profile, Spell
from pipeline.practice.profiles import load_profiles, write_profiles
from pipeline.practice.rules import EVER_SINCE, EventRule, RoutineRule, SporeRule
from pipeline.practice.spells import one_after_another
from pipeline.warehouse.connection import open_memory
from tests.unit.practice.made_up import event, routine, spore

MARCH, JUNE, SEPTEMBER = date(2026, 3, 1), date(2026, 6, 1), date(2026, 9, 1)


def profile(name, *rules):
    return Profile(name, name.title(), "", "", date(2026, 1, 31), True, (), tuple(rules), ())


def made(*spells, of):
    ends = [*(day for _, day in spells[1:]), None]
    cut = [Spell(name, day, end) for (name, day), end in zip(spells, ends, strict=True)]
    return one_after_another("both", cut, {one.name: one for one in of})


def days_of(rules):
    return [(rule.valid_from, rule.valid_to) for rule in rules]


def test_each_rule_holds_on_the_days_of_its_profile():
    one = profile("one", spore(days=7), event(), routine())
    two = profile("two", spore(days=30), routine(kind="interval_days", days=30))
    both = made(("one", EVER_SINCE), ("two", MARCH), of=[one, two])

    assert [(rule.days, rule.valid_from, rule.valid_to) for rule in both.of(SporeRule)] == [
        (7, EVER_SINCE, MARCH),
        (30, MARCH, None),
    ]
    # What the second does not ask ends with the first.
    assert days_of(both.of(EventRule)) == [(EVER_SINCE, MARCH)]
    assert [(rule.kind, rule.valid_from) for rule in both.of(RoutineRule)] == [
        ("use_day", EVER_SINCE),
        ("interval_days", MARCH),
    ]
    assert both.name == "both"
    assert both.spells == (Spell("one", EVER_SINCE, MARCH), Spell("two", MARCH, None))


def test_what_both_ask_alike_goes_on_and_is_not_cut():
    shared = routine(declared_by="care")
    one = profile("one", spore(days=7), shared)
    two = profile("two", spore(days=5), replace(shared, reason="other words"))
    both = made(("one", EVER_SINCE), ("two", MARCH), of=[one, two])

    assert days_of(both.of(RoutineRule)) == [(EVER_SINCE, None)]
    assert len(both.of(SporeRule)) == 2


def test_the_same_figures_from_another_source_are_another_rule():
    one, two = profile("one", spore(days=7)), profile("two", spore(days=7, source="elsewhere"))
    both = made(("one", EVER_SINCE), ("two", MARCH), of=[one, two])
    assert days_of(both.of(SporeRule)) == [(EVER_SINCE, MARCH), (MARCH, None)]


def test_versions_within_a_profile_keep_their_days():
    one = profile("one", spore(days=9, valid_to=MARCH), spore(days=7, valid_from=MARCH))
    two = profile("two", spore(days=5, valid_to=SEPTEMBER), spore(days=4, valid_from=SEPTEMBER))
    both = made(("one", EVER_SINCE), ("two", JUNE), of=[one, two])

    assert [(rule.days, rule.valid_from, rule.valid_to) for rule in both.of(SporeRule)] == [
        (9, EVER_SINCE, MARCH),
        (7, MARCH, JUNE),
        (5, JUNE, SEPTEMBER),
        (4, SEPTEMBER, None),
    ]


def test_back_to_the_first_profile_after_a_spell_of_another():
    one, two = profile("one", spore(days=7)), profile("two", spore(days=5))
    both = made(("one", EVER_SINCE), ("two", MARCH), ("one", JUNE), of=[one, two])
    assert [(rule.days, rule.valid_from) for rule in both.of(SporeRule)] == [
        (7, EVER_SINCE),
        (5, MARCH),
        (7, JUNE),
    ]


def test_on_every_day_the_rules_are_those_of_the_profile_of_that_day(network_of):
    network = network_of(quay="us-cdc-dental")
    moved = replace(network.sites["quay"], changes=(PracticeChange(MARCH, "uk-dental"),))
    profiles = load_profiles(replace(network, sites={"quay": moved}))
    both = profiles[moved.follows]

    assert set(profiles) == {"us-cdc-dental", "uk-dental", moved.follows}
    for name, day in (("us-cdc-dental", date(2026, 2, 28)), ("uk-dental", MARCH)):
        assert asked_on(both, day) == asked_on(profiles[name], day)
    # One version of a name at a time.
    for rule in both.rules:
        others = [one for one in both.rules if full_name(one) == full_name(rule) and one != rule]
        assert not any(within(rule, one) for one in others)


def asked_on(one, day):
    return {
        (full_name(rule), rule.source, replace(rule, valid_from=EVER_SINCE, valid_to=None,
                                               reason=None))
        for rule in one.rules
        if rule.valid_from <= day < until(rule)
    }  # fmt: skip


def test_a_profile_that_there_is_not_is_named_with_the_day_and_the_file(network_of):
    network = network_of(quay="weekly", cove="weekly")
    changes = {
        "quay": (PracticeChange(MARCH, "uk-dentl"),),
        "cove": (PracticeChange(MARCH, "care-of-units"),),
    }
    sites = {name: replace(network.sites[name], changes=changes[name]) for name in changes}
    with pytest.raises(ConfigurationError) as raised:
        load_profiles(replace(network, sites=sites))

    quay, cove = raised.value.faults
    assert quay == (
        'network.toml: site "quay": follows the practice "uk-dentl" from 2026-03-01, of which '
        'there is no profile. Did you mean "uk-dental"?'
    )
    assert 'practice "care-of-units" from 2026-03-01, which is for other profiles' in cove


def test_the_tables_tell_which_profile_stands_behind_the_rules_on_which_days(network_of):
    network = network_of(quay="weekly", cove="weekly")
    moved = replace(network.sites["quay"], changes=(PracticeChange(MARCH, "germany"),))
    con = open_memory()
    write_profiles(con, load_profiles(replace(network, sites=network.sites | {"quay": moved})))

    assert con.execute("FROM practice.followed ORDER BY ALL").fetchall() == [
        ("germany", "germany", date.min, None),
        ("weekly", "weekly", date.min, None),
        (moved.follows, "germany", MARCH, None),
        (moved.follows, "weekly", date.min, MARCH),
    ]
    assert con.execute("SELECT practice FROM practice.profile ORDER BY ALL").fetchall() == [
        ("germany",),
        ("weekly",),
    ]
    assert con.execute(
        "SELECT count(*) FROM practice.rule WHERE practice = ?", [moved.follows]
    ).fetchone() != (0,)
