"""Sites that change their profile by date, and every way in which that can be said wrongly."""

from datetime import date, datetime

import pytest

from pipeline.config.changes import with_changes
from pipeline.config.faults import Faults
from pipeline.config.network import PracticeChange, Site

SITES = {
    "quay": Site("quay", "Quay", "Outer", "UTC", 0, "weekly", date(2020, 1, 1)),
    "cove": Site(
        "cove", "Cove", "Outer", "UTC", 0, "weekly", date(2020, 1, 1), closed_on=date(2026, 6, 1)
    ),
}


def change(day=date(2026, 3, 1), profile="uk-dental", sites=("quay",)):
    named = sites if isinstance(sites, str) else list(sites)
    return {"sites": named, "profile": profile, "from": day}


def read(*declared):
    faults = Faults()
    return with_changes(list(declared), SITES, faults), faults.sentences


def test_a_site_follows_what_sites_csv_names_and_then_each_profile_from_its_day_on():
    sites, faults = read(change(), change(date(2026, 9, 1), "group"))

    assert faults == []
    assert sites["quay"].practice == "weekly"
    assert sites["quay"].changes == (
        PracticeChange(date(2026, 3, 1), "uk-dental"),
        PracticeChange(date(2026, 9, 1), "group"),
    )
    assert sites["quay"].follows == "weekly, uk-dental from 2026-03-01, group from 2026-09-01"
    assert sites["cove"] == SITES["cove"]
    assert sites["cove"].follows == "weekly"


def test_a_group_that_tightens_its_rules_says_so_once_for_all_sites():
    sites, faults = read(change(sites="all"))

    assert faults == []
    assert [site.changes[0].practice for site in sites.values()] == ["uk-dental"] * 2


def test_a_site_may_go_back_to_the_profile_it_had():
    sites, faults = read(change(), change(date(2026, 9, 1), "weekly"))
    assert faults == []
    assert [one.practice for one in sites["quay"].changes] == ["uk-dental", "weekly"]


# what is declared | the words in which it is told, with what to do
@pytest.mark.parametrize(
    ("declared", "told"),
    [
        ([change(sites=["quey"])], 'the site "quey", not in sites.csv. Did you mean "quay"?'),
        ([change(sites=[])], 'has sites = []; write "all" or a list of site ids.'),
        ([change(sites="quay")], "has sites = 'quay'; write \"all\" or a list"),
        ([change(profile=7)], 'has profile = 7; write its name, such as "weekly".'),
        ([change("2026-03-01")], "has from = '2026-03-01'; write a day, such as 2026-03-01."),
        ([change(datetime(2026, 3, 1, 9))], "write a day, such as 2026-03-01."),
        ([change(date(2019, 3, 1))], "opened on 2020-01-01; write its first profile in sites.csv"),
        ([change(date(2020, 1, 1))], "opened on 2020-01-01; write its first profile in sites.csv"),
        ([change(date(2026, 6, 1), sites=["cove"])], "is closed from 2026-06-01 on"),
        ([change(profile="weekly")], 'follows "weekly" already; leave it out'),
        (
            [change(), change(date(2026, 5, 1))],
            'network.toml: [[practice]] 2: is from 2026-05-01, and site "quay" follows "uk-dental"',
        ),
        ([change(), change(profile="group")], 'follows "uk-dental" from that very day'),
        (
            [change(), change(date(2025, 9, 1), "group")],
            "changes on 2026-03-01 further up; write its changes in the order of their days",
        ),
        ([change() | {"until": date(2026, 4, 1)}], 'has no setting "until".'),
    ],
)  # fmt: skip
def test_what_contradicts_itself_is_told_with_what_to_write(declared, told):
    _, faults = read(*declared)
    assert len(faults) == 1
    assert told in faults[0]


def test_what_is_no_list_of_tables_is_told():
    faults = Faults()
    with_changes({"profile": "weekly"}, SITES, faults)
    assert faults.sentences == [
        "network.toml: practice is no list of tables; begin each with [[practice]]."
    ]
