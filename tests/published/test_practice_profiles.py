"""The figures of the practice profiles, place by place, beside where each was published.

Marks: read = in the document; reported = in somebody else's report of it; memory = not confirmed;
custom = common practice, no source. A profile must carry the same mark, so that a page never says
"read" of what was not.
"""

from datetime import date

import pytest

from pipeline.practice.loosening import is_looser
from pipeline.practice.retention import kept_to
from pipeline.practice.rules import (
    EventRule,
    ResponseRule,
    RetentionRule,
    RoutineRule,
    SporeRule,
    TaskRule,
)
from pipeline.practice.shelf import all_profiles

PROFILES = all_profiles()

ROUTINE = """
# profile             kind             days  cycles  minutes  each  mark             source
weekly                interval_days    7     -       -        no    read             MMWR 52(RR-17)
us-cdc-dental         interval_days    7     -       -        no    read             MMWR 52(RR-17)
us-hospital           interval_days    7     -       -        no    read             2008
us-oregon-dental      calendar_week    -     -       -        no    read             818-012-0040
us-florida-dental     minutes_or_days  30    -       2400     no    reported         59Q-25.003
us-ohio-medical       interval_days    7     -       -        no    read             4731-17-04
us-california-dental  interval_days    7     -       -        no    reported         1005
us-louisiana-dental   interval_days    7     -       -        no    read             MMWR 52(RR-17)
us-texas-dental       interval_days    7     -       -        no    read             108.24
us-washington-dental  interval_days    7     -       -        no    reported         246-817-655
canada-ontario        use_day          -     -       -        yes   reported         2018, p. 23
uk-dental             not_asked        -     -       -        no    memory           HTM 01-05
eu-en13060            not_asked        -     -       -        no    reported         EN ISO 17665
germany               days_or_cycles   182   400     -        no    reported         half-year
denmark               days_by_use      91    -       -        no    reported         three months
australia             not_asked        -     -       -        no    reported         validation
veterinary            interval_days    7     -       -        no    common_practice  AAHA
group-policy          interval_days    5     -       -        no    policy           invented
"""

OTHERS = """
# profile       test                kind           units   mark
us-cdc-dental   chemical_in_load    per_load       all     read
us-cdc-dental   implant_quarantine  per_load       all     read
us-cdc-dental   steam_penetration   use_day        vacuum  reported
us-hospital     chemical_in_load    per_load       all     read
us-hospital     implant_quarantine  per_load       all     read
us-hospital     steam_penetration   use_day        vacuum  reported
canada-ontario  chemical_in_load    per_load       all     reported
canada-ontario  implant_quarantine  per_load       all     memory
canada-ontario  steam_penetration   use_day        vacuum  memory
uk-dental       steam_penetration   use_day        vacuum  reported
uk-dental       automatic_control   use_day        all     reported
uk-dental       leak                calendar_week  vacuum  reported
eu-en13060      chemical_in_load    per_load       all     memory
eu-en13060      steam_penetration   use_day        vacuum  memory
eu-en13060      leak                calendar_week  vacuum  memory
denmark         steam_penetration   use_day        vacuum  reported
australia       steam_penetration   use_day        vacuum  read
australia       leak                use_day        vacuum  read
australia       automatic_control   use_day        all     read
australia       chemical_in_load    per_load       all     read
"""

AFTER_GROWTH = """
# profile       condition      steps in their order, each with its number of tests
us-cdc-dental   growth         out_of_service review repeat_same_cycle=1
us-cdc-dental   second_growth  inspect_or_repair recall_since_last_negative consecutive_runs=3
us-hospital     growth         out_of_service review consecutive_runs=3
us-hospital     second_growth  recall_since_last_negative inspect_or_repair
canada-ontario  growth         out_of_service review repeat_same_cycle=1
canada-ontario  second_growth  inspect_or_repair consecutive_runs=3
denmark         growth         out_of_service review repeat_same_cycle=1
denmark         second_growth  inspect_or_repair
"""

EVENTS = """
# profile       event         test               tests  per program  mark
us-cdc-dental   growth        biological         3      no           reported
us-hospital     installation  biological         3      yes          reported
us-hospital     repair        biological         3      yes          reported
us-hospital     relocation    biological         3      yes          reported
us-hospital     repair        steam_penetration  3      no           reported
us-hospital     growth        biological         3      no           read
canada-ontario  repair        biological         3      no           memory
denmark         repair        biological         1      no           reported
denmark         loaner        biological         1      no           reported
"""

RETENTION = """
# profile             record      keep               years  mark      source
us-oregon-dental      spore_test  calendar_years     2      read      818-012-0040
us-ohio-medical       spore_test  years_from_record  2      read      4731-17-04
us-louisiana-dental   spore_test  years_from_record  2      read      1206
us-california-dental  spore_test  years_from_record  1      reported  1005
us-washington-dental  spore_test  years_from_record  5      reported  246-817-655
canada-ontario        spore_test  years_from_record  10     memory    college
uk-dental             cycle       years_from_record  2      memory    HTM 01-05
australia             cycle       years_from_record  7      read      RACGP
germany               validation  life_of_unit       -      memory    German
germany               cycle       years_from_record  5      memory    German
"""


def rows(table: str) -> list[tuple[str, ...]]:
    lines = [line for line in table.strip().splitlines() if not line.startswith("#")]
    return [tuple(cell.strip() for cell in line.split("  ") if cell.strip()) for line in lines]


def number(cell: str) -> int | None:
    return None if cell == "-" else int(cell)


def test_every_profile_for_sites_stands_in_the_table_of_spore_tests():
    for_sites = {name for name, one in PROFILES.items() if one.is_for_sites}
    assert {row[0] for row in rows(ROUTINE)} == for_sites


@pytest.mark.parametrize("row", rows(ROUTINE), ids=lambda row: row[0])
def test_a_spore_test_is_asked_for_as_published(row):
    name, kind, days, cycles, minutes, per_program, mark, source = row
    (rule,) = (one for one in PROFILES[name].of(SporeRule) if one.rule == "routine")

    assert (rule.kind, rule.days, rule.cycles, rule.minutes, rule.grace_days) == (
        kind, number(days), number(cycles), number(minutes), 0,
    )  # fmt: skip
    assert rule.is_per_program == (per_program == "yes")
    assert rule.confidence == mark
    assert source in rule.source


def test_denmark_asks_monthly_for_units_that_are_used_much():
    """More than 200 to 400 cycles a quarter, as reported by laboratories; the lower of the two."""
    (rule,) = PROFILES["denmark"].of(SporeRule)
    assert (rule.busy_days, rule.busy_cycles) == (30, 200)
    assert "more than 200 to 400 cycles a quarter" in rule.source


@pytest.mark.parametrize(
    ("name", "mark"),
    [("us-cdc-dental", "read"), ("us-hospital", "read"), ("canada-ontario", "reported")],
)
def test_every_load_with_implants_is_tested(name, mark):
    (rule,) = (one for one in PROFILES[name].of(SporeRule) if one.rule == "implant")
    assert (rule.kind, rule.confidence) == ("per_load", mark)


@pytest.mark.parametrize("row", rows(OTHERS), ids=lambda row: f"{row[0]} {row[1]}")
def test_another_routine_test_is_asked_for_as_published(row):
    name, test, kind, units, mark = row
    (rule,) = (one for one in PROFILES[name].of(RoutineRule) if one.test == test)
    assert (rule.kind, rule.applies_to, rule.confidence) == (kind, units, mark)


@pytest.mark.parametrize("row", rows(AFTER_GROWTH), ids=lambda row: " ".join(row[:2]))
def test_after_growth_the_steps_are_those_published_in_their_order(row):
    name, condition, steps = row
    found = sorted(PROFILES[name].of(ResponseRule), key=lambda rule: rule.place)
    said = [
        rule.step + (f"={rule.test_count}" if rule.test_count else "")
        for rule in found
        if rule.condition == condition
    ]
    assert " ".join(said) == steps


def test_a_hospital_recalls_other_loads_on_one_growth_only_for_implants_or_a_fault():
    """Source: CDC 2008, table 12 and recommendation f (read)."""
    found = {
        rule.condition: rule.confidence
        for rule in PROFILES["us-hospital"].of(ResponseRule)
        if rule.step == "recall_since_last_negative"
    }
    assert found == {"implant_load": "read", "defect_found": "read", "second_growth": "read"}


@pytest.mark.parametrize("row", rows(EVENTS), ids=lambda row: " ".join(row[:3]))
def test_an_event_asks_for_the_published_number_of_tests(row):
    name, event, test, tests, per_program, mark = row
    (rule,) = (
        one for one in PROFILES[name].of(EventRule) if (one.event, one.test) == (event, test)
    )
    assert (rule.test_count, rule.is_per_program) == (int(tests), per_program == "yes")
    assert rule.confidence == mark


@pytest.mark.parametrize("row", rows(RETENTION), ids=lambda row: f"{row[0]} {row[1]}")
def test_records_are_kept_as_long_as_published(row):
    name, record, keep, years, mark, source = row
    (rule,) = (one for one in PROFILES[name].of(RetentionRule) if one.record == record)
    assert (rule.keep, rule.years, rule.confidence) == (keep, number(years), mark)
    assert source in rule.source


@pytest.mark.parametrize(
    ("name", "days", "mark"),
    [
        ("us-cdc-dental", 365, "read"),  # RACGP: yearly, taken over as the default
        ("australia", 365, "read"),  # RACGP: at commissioning and yearly
        ("germany", 730, "read"),  # chamber of Schleswig-Holstein: within 24 months
        ("uk-dental", 365, "reported"),  # HTM 01-05, 11.1
        ("eu-en13060", 365, "memory"),
    ],
)
def test_a_validation_is_due_as_published(name, days, mark):
    (rule,) = (one for one in PROFILES[name].of(TaskRule) if one.task == "validation")
    assert (rule.days, rule.confidence) == (days, mark)


@pytest.mark.parametrize(
    ("name", "recorded_on", "to_on"),
    [
        # Oregon: the current and the two preceding calendar years (read).
        ("us-oregon-dental", date(2023, 3, 15), date(2025, 12, 31)),
        ("us-oregon-dental", date(2023, 12, 31), date(2025, 12, 31)),
        ("us-oregon-dental", date(2024, 1, 1), date(2026, 12, 31)),
        # Louisiana: two years from the date of the last test (read).
        ("us-louisiana-dental", date(2024, 5, 10), date(2026, 5, 10)),
        ("us-california-dental", date(2024, 2, 29), date(2025, 3, 1)),
    ],
)
def test_a_record_is_kept_to_the_published_day(name, recorded_on, to_on):
    (rule,) = (one for one in PROFILES[name].of(RetentionRule) if one.record == "spore_test")
    assert kept_to(rule, recorded_on) == to_on


def test_what_is_kept_as_long_as_the_unit_has_no_last_day():
    (rule,) = (one for one in PROFILES["germany"].of(RetentionRule) if one.record == "validation")
    assert kept_to(rule, date(2026, 1, 1)) is None


def test_what_the_states_ask_less_of_than_the_federal_recommendation_is_owned_up_to():
    less = {
        name: [f"{one.rule.table}/{one.rule.name}" for one in profile.loosenings]
        for name, profile in PROFILES.items()
        if profile.loosenings
    }
    assert less == {
        "us-oregon-dental": ["spore/routine"],  # a calendar week lets 13 days pass
        "us-florida-dental": ["spore/routine"],  # 30 days
        "germany": ["task/validation"],  # 24 months
    }
    assert all(one.reason for profile in PROFILES.values() for one in profile.loosenings)


def test_the_groups_own_policy_asks_for_more_than_what_it_inherits():
    ours, theirs = PROFILES["group-policy"], PROFILES["us-cdc-dental"]
    before = {(rule.table, rule.name): rule for rule in theirs.rules}

    assert before.keys() < {(rule.table, rule.name) for rule in ours.rules}
    tightened = [
        rule.name
        for rule in ours.rules
        if (old := before.get((rule.table, rule.name))) and is_looser(old, than=rule)
    ]
    assert tightened == ["routine", "gasket_replace"]
