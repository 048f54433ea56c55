from datetime import date

import pytest

from pipeline.base.assets import asset
from pipeline.base.errors import ConfigurationError
from pipeline.base.phrases import words
from pipeline.practice.profiles import load_profiles, write_profiles
from pipeline.practice.rules import SporeRule, TaskRule
from pipeline.practice.shelf import all_profiles, profile_names
from pipeline.warehouse.connection import open_memory


def test_the_weekly_profile_asks_for_a_spore_test_every_seven_days(network_of):
    """Source: CDC, MMWR 52(RR-17), 2003, sterilization monitoring: at least weekly."""
    (rule,) = load_profiles(network_of(quay="weekly"))["weekly"].of(SporeRule)

    assert (rule.kind, rule.days, rule.grace_days) == ("interval_days", 7, 0)
    assert "MMWR 52(RR-17)" in rule.source


def test_every_profile_can_be_loaded_and_names_its_sources():
    profiles = all_profiles()

    assert tuple(profiles) == profile_names()
    for profile in profiles.values():
        assert profile.rules
        assert all(len(rule.source) > 20 for rule in profile.rules)


def test_every_task_of_every_profile_has_a_name_to_print():
    tasks = {rule.task for profile in all_profiles().values() for rule in profile.of(TaskRule)}
    assert tasks <= words()["task"].keys()


def test_only_profiles_that_a_site_follows_are_loaded(network_of):
    assert load_profiles(network_of()) == {}


def test_every_site_with_an_unknown_practice_is_named_with_what_was_meant(network_of):
    with pytest.raises(ConfigurationError) as raised:
        load_profiles(network_of(quay="weekly", cove="wekly", reach="no-such-rule"))

    cove, reach = raised.value.faults
    assert cove == (
        'sites.csv: site "cove": follows the practice "wekly", of which there is no profile. '
        'Did you mean "weekly"?'
    )
    assert reach.startswith(
        'sites.csv: site "reach": follows the practice "no-such-rule", of which there is no profile'
    )


def test_the_tables_hold_the_profiles_of_this_run_and_no_others(network_of):
    con = open_memory()
    profiles = load_profiles(network_of(quay="weekly"))
    write_profiles(con, profiles)
    write_profiles(con, profiles)

    assert con.execute("SELECT practice, reviewed_on FROM practice.profile").fetchall() == [
        ("weekly", date(2026, 11, 25))
    ]
    assert con.execute("SELECT days, grace_days FROM practice.spore_rule").fetchall() == [(7, 0)]
    assert con.execute(
        "SELECT task, days, cycles, grace_days, act_now_days, is_paused_when_closed, who "
        "FROM practice.task_rule ORDER BY task"
    ).fetchall() == [
        ("air_filter_replace", 182, 500, 14, None, False, "user"),
        ("calibration", 365, None, 0, 30, False, "engineer"),
        ("chamber_clean", 7, None, 2, None, True, "user"),
        ("deep_clean", 30, 100, 7, None, True, "user"),
        ("gasket_replace", 365, 1000, 14, None, False, "engineer"),
        ("reservoir_refill", 7, None, 2, None, True, "user"),
        ("service", 365, 2000, 14, None, False, "engineer"),
        ("validation", 365, None, 0, 30, False, "test person"),
    ]


def test_the_profiles_are_files_of_the_expectations_folder():
    assert profile_names() == tuple(
        sorted(path.stem for path in asset("expectations", "practice").glob("*.toml"))
    )
    assert "weekly" in profile_names()
