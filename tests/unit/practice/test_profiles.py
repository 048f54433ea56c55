from dataclasses import fields
from datetime import date

import pytest

from pipeline.base.assets import asset
from pipeline.base.errors import ConfigurationError
from pipeline.base.message import spoken
from pipeline.base.phrases import words
from pipeline.practice.profiles import load_profiles, write_profiles
from pipeline.practice.rules import RULES, SporeRule, TaskRule
from pipeline.practice.shelf import all_profiles, profile_names
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.statements import statements


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
    write_profiles(con, load_profiles(network_of(quay="us-hospital")))
    write_profiles(con, load_profiles(network_of(quay="weekly")))

    assert con.execute(
        "SELECT practice, reviewed_on, parents FROM practice.profile"
    ).fetchall() == [("weekly", date(2026, 11, 25), ["care-of-units"])]
    assert con.execute(
        "SELECT rule, kind, days, grace_days, result_days, valid_from, valid_to "
        "FROM practice.spore_rule"
    ).fetchall() == [("routine", "interval_days", 7, 0, 14, date.min, None)]
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


@pytest.mark.parametrize("kind", RULES)
def test_every_field_of_a_rule_is_a_column_of_its_table_and_every_column_a_field(kind):
    con = open_memory()
    write_profiles(con, {})
    columns = {row[0] for row in con.execute(f"DESCRIBE practice.{kind.table}_rule").fetchall()}

    assert columns == {field.name for field in fields(kind)} - {"reason"} | {"practice"}


def test_every_rule_is_stored_once_in_its_own_table_and_once_in_plain_words():
    con = open_memory()
    profiles = all_profiles()
    write_profiles(con, profiles)

    for name, profile in profiles.items():
        for kind in RULES:
            (count,) = con.execute(
                f"SELECT count(*) FROM practice.{kind.table}_rule WHERE practice = ?", [name]
            ).fetchone()
            assert count == len(profile.of(kind))
        printed = con.execute(
            "SELECT rule, asks, source, confidence FROM practice.rule WHERE practice = ? "
            "ORDER BY place",
            [name],
        ).fetchall()
        assert sorted(row[0] for row in printed) == sorted(
            f"{rule.table}/{rule.name}" for rule in profile.rules
        )
        assert all(all(row) for row in printed)


@pytest.mark.parametrize(
    "table", [one for one in statements("practice") if one.name != "loosening"]
)
def test_a_key_names_one_row_of_a_practice_table(table):
    con = open_memory()
    write_profiles(con, all_profiles())
    key = table.header_value("key")

    assert con.execute(f"SELECT count(*) FROM {table.table}").fetchone() != (0,)
    assert (
        con.execute(
            f"SELECT {key} FROM {table.table} GROUP BY {key} HAVING count(*) > 1"
        ).fetchall()
        == []
    )


MESSAGES = (3, 4, 5)
"""Places of what, ancestor_asks and asks in practice.loosening."""


def test_what_is_asked_for_less_is_stored_with_both_sides_and_the_reason(network_of):
    con = open_memory()
    write_profiles(con, load_profiles(network_of(quay="germany")))

    (row,) = con.sql("FROM practice.loosening").pl().rows()
    said = [spoken(one) if place in MESSAGES else one for place, one in enumerate(row)]
    assert [tuple(said)] == [
        (
            "germany",
            "task/validation",
            "Generic care of units",
            "Validation",
            "at least every 365 days; act now when more than 30 days past due",
            "at least every 730 days; act now when more than 30 days past due",
            "The chamber of the state allows 24 months between requalifications.",
            date.min,
            None,
        )
    ]


def test_the_profiles_are_files_of_the_expectations_folder():
    assert profile_names() == tuple(
        sorted(path.stem for path in asset("expectations", "practice").glob("*.toml"))
    )
    assert "weekly" in profile_names()
