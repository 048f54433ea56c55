"""Parts of pages on rows written by hand: boundaries, gaps, and what is said of the unknown."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from pipeline.render.parts.case_mix import case_mix_tables
from pipeline.render.parts.cells import likely_cell, position_cell, share_cell
from pipeline.render.parts.findings import grouped, more_summary
from pipeline.render.parts.funnel import shape_of
from pipeline.render.parts.repairs import repair_tables
from pipeline.render.parts.stopped import worst_first
from pipeline.render.parts.strip import held_table, held_tests, strip_sentence
from pipeline.render.parts.sums import last_four_weeks, weekly_shares
from pipeline.render.parts.task import task_cells
from pipeline.render.parts.unseen import unseen
from pipeline.render.quantity import change, quantity, quantity_range
from pipeline.render.scope import Scope
from pipeline.render.tables.register import SiteRow, UnitRow, UnregisteredRow
from pipeline.render.tables.spore import HeldTestRow, SporeWeekRow
from pipeline.render.tables.standing import CoverageRow, FindingRow, RankingRow
from pipeline.render.tables.stops import FunnelRow, RecentRow, StopWeekRow
from pipeline.render.tables.upkeep import RepairRow, TaskDueRow
from pipeline.render.tables.verdict import VerdictRow

DAY = date(2026, 10, 31)
RANKED = RankingRow(
    "stopped_equipment", "unit", "U", 24, 705, 24 / 705, 0.02, 0.05, 0.03, 0.023, 0.044, 2, 4, 23,
    0.97, 0.4, *[None] * 7, True, None,
)  # fmt: skip
UNRANKED = replace(RANKED, numerator=3, denominator=19, is_ranked=False, reason="19 of 100 needed")


class Few:
    """The few tables that a part asks for, by name."""

    def __init__(self, **tables) -> None:
        self.__dict__.update(tables)


def unit(serial: str, label: str = "Unit 1", site_id: str = "s") -> UnitRow:
    return UnitRow(serial, site_id, label, "gravity", date(2020, 1, 1), None, True)


# At each limit a point is still within it: only beyond is beyond.
@pytest.mark.parametrize(
    ("share", "shape"),
    [
        (0.0099, "lower"),
        (0.01, "usual"),
        (0.02, "usual"),
        (0.05, "usual"),
        (0.0501, "look_into"),
        (0.07, "look_into"),
        (0.0701, "act_now"),
    ],
)
def test_a_point_is_marked_by_the_limits_at_its_own_volume(share, shape):
    limits = [
        FunnelRow("site", 400, 1.0, 0.0, 0.0, 0.5, 0.9, "none", 0.0),
        FunnelRow("site", 500, 1.0, 0.01, 0.02, 0.05, 0.07, "none", 0.0),
        FunnelRow("site", 600, 1.0, 0.03, 0.03, 0.03, 0.03, "none", 0.0),
    ]
    assert shape_of(share, 500, limits) == shape
    assert shape_of(share, 599, limits) == shape  # no row of its own: the wider limits below


def test_a_point_below_every_volume_is_not_judged():
    assert (
        shape_of(0.9, 399, [FunnelRow("site", 400, 1.0, 0.0, 0.0, 0.1, 0.2, "none", 0.0)])
        == "usual"
    )
    assert shape_of(0.9, 399, []) == "usual"


def test_a_share_cell_says_x_of_n_and_no_percent_for_few():
    assert (share_cell(RANKED).text, share_cell(RANKED).below) == ("3.4%", "24 of 705")
    assert (share_cell(UNRANKED).text, share_cell(UNRANKED).below) == ("3 of 19", "")
    assert share_cell(replace(RANKED, numerator=0, denominator=0)).text == "none run"
    assert share_cell(None).text == "not known"


def test_cells_without_a_figure_have_no_key_and_so_stand_last():
    for cell in (share_cell(None), likely_cell(None, (), 1.0), position_cell(UNRANKED)):
        assert cell.key == ""


def test_a_position_is_a_range_with_the_chance_or_the_reason_why_not():
    assert (position_cell(RANKED).text, position_cell(RANKED).below) == ("2–4 of 23", "97 in 100")
    assert (position_cell(UNRANKED).text, position_cell(UNRANKED).below) == (
        "not ranked",
        "19 of 100 needed",
    )


def test_a_bar_wholly_above_the_network_has_the_diamond():
    for network, mark in ((0.0229, "look-fill"), (0.023, "hollow")):
        assert mark in likely_cell(RANKED, (network,), 0.1).chart
    assert "few" in likely_cell(UNRANKED, (0.0,), 0.1).chart


def test_rankings_stand_by_the_chance_of_being_above_the_network_and_the_unranked_last():
    likely_worse = replace(RANKED, p_worse=0.99, likely=0.02)
    rarely_ran = replace(UNRANKED, p_worse=1.0, likely=0.9)
    rows = [rarely_ran, None, RANKED, likely_worse]
    assert sorted(rows, key=worst_first)[:3] == [likely_worse, RANKED, rarely_ran]


def test_weeks_of_two_sites_are_added_up_and_idle_weeks_are_gaps():
    weeks = [date(2026, 10, 5), date(2026, 10, 12), date(2026, 10, 19)]
    rows = [
        StopWeekRow("U", "s", weeks, [10, 0, 5], [1, 0, 0]),
        StopWeekRow("V", "s", weeks[:2], [10, 0], [3, 0]),
    ]
    assert weekly_shares(rows) == (0.2, None, 0.0)


def test_what_is_usual_is_not_known_as_soon_as_it_is_not_known_of_one():
    recent = {
        "U": RecentRow("U", "s", 3, 50, 1.5),
        "V": RecentRow("V", "s", 1, 20, None),
        "W": RecentRow("W", "s", 0, 0, None),  # ran nothing, so nothing is usual for it
    }
    tables = Few(recent=recent)
    assert last_four_weeks(tables, [unit("U"), unit("W")]).expected_count == 1.5
    assert last_four_weeks(tables, [unit("U"), unit("V")]).expected_count is None
    assert last_four_weeks(tables, [unit("none")]).run_count == 0


def finding(number: int, **given) -> FindingRow:
    row = FindingRow(
        f"{number:016}", "U", "s", "task_overdue", "look_into", DAY, "why", "Do it today.", None
    )
    return replace(row, **given)


def test_findings_of_one_unit_with_one_next_step_are_one_entry():
    rows = [
        finding(1),
        finding(2, unit_serial="V"),
        finding(3),
        finding(4, next_step="Book the engineer."),
        finding(5, state="act_now"),
    ]
    assert [[int(row.finding_id) for row in group] for group in grouped(rows)] == [
        [1, 3], [2], [4], [5],
    ]  # fmt: skip


def test_the_line_over_the_rest_counts_it_by_state():
    groups = [
        [finding(1, state="act_now")],
        [finding(2), finding(3)],
        [finding(4)],
        [finding(5, state="not_seen")],
    ]
    assert more_summary(groups) == "4 more: 1 to act on now, 2 to look into and 1 not seen"
    assert more_summary([]) == ""


def test_weeks_not_in_use_leave_the_denominator():
    states = ["on_time", "on_time", "late", "not_done", "not_in_use", "not_seen", "growth"]
    row = SporeWeekRow("U", [DAY] * 7, states)
    assert strip_sentence(row) == (
        "3 of 5 weeks in use tested on time; 1 late, 1 not done. Growth found in 1 week. "
        "1 week was not seen."
    )
    assert strip_sentence(None) == "No week is on record."


def test_held_tests_are_told_of_weeks_in_which_none_counts_and_lead_to_what_is_wrong_with_them():
    weeks = [DAY + timedelta(days=7 * n) for n in range(5)]
    row = SporeWeekRow("U", weeks, ["on_time", "not_done", "growth", "invalid", "late"])
    held = [HeldTestRow("U", on, "s", "tests.csv", "abc", n) for n, on in enumerate(weeks, 2)]
    told = held_tests(row, held)

    assert [one.week_on for one in told] == [weeks[4], weeks[3], weeks[1]]
    assert held_tests(None, held) == []
    (table,) = held_table(told)
    assert [line.cells[1].text for line in table.lines] == [
        "tests.csv, line 6",
        "tests.csv, line 5",
        "tests.csv, line 3",
    ]
    assert {line.cells[1].href for line in table.lines} == {"site-s.html#mend"}
    assert held_table([]) == ()


def heard(serial: str, **given) -> CoverageRow:
    row = CoverageRow(serial, "s", DAY, DAY, DAY, 100, 0, 0, 0, "usual", "heard")
    return replace(row, **given)


def nothing_wrong(units: list[str]) -> dict:
    return {
        "network": Few(name="Group"),
        "sites": {},
        "units": {},
        "coverage": {serial: heard(serial) for serial in units},
        "locations": [],
        "unregistered": [],
        "balances_of_site": {},
        "pending": {},
        "rankings": {("stopped_equipment", "unit", serial): RANKED for serial in units},
        "worn": set(units),
        "verdicts": {},
    }


@pytest.fixture
def whole():
    """A network of two units of which everything was seen."""
    site = SiteRow("s", "Umber Bay", "R", "r", 0.0, "weekly", date(2020, 1, 1), None, None)
    tables = nothing_wrong(["U", "V"]) | {"sites": {"s": site}}

    def made(**given):
        units = (unit("U"), unit("V"))
        return Scope(Few(**(tables | given)), "network", "network", "Group", (site,), units)

    return made


def test_when_everything_was_seen_the_page_says_so(whole):
    assert unseen(whole()).sentences == ("Every registered unit sent logs: 2 of 2.",)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        (
            {"coverage": {"U": heard("U"), "V": heard("V", state="not_seen")}},
            "Umber Bay: nothing from 1 unit after 31 Oct 2026. It is not counted as usual.",
        ),
        (
            {"coverage": {"U": heard("U"), "V": heard("V", state="not_seen", heard_on=None)}},
            "Umber Bay: 1 unit has never sent anything. It is not counted as usual.",
        ),
        (
            {"coverage": {"U": heard("U")}},
            "Of 1 registered unit it is not known whether it sent anything.",
        ),
        (
            {"coverage": {"U": heard("U", missing_count=3), "V": heard("V")}},
            "3 cycles ran and were never received, by gaps in the counters of 1 unit.",
        ),
        ({"pending": {"s": 2}}, "2 spore tests have no result yet."),
        ({"rankings": {}}, "2 units ran too few cycles to be ranked."),
        (
            {"verdicts": {"U": [VerdictRow("U", "pouch", "readings", "cannot_tell", "gap", 3)]}},
            "Of 3 finished cycles it cannot be told whether they were as their programs ask; "
            "that is no pass.",
        ),
        ({"worn": {"U"}}, "1 unit logs no value that would show wear."),
        (
            {"unregistered": [UnregisteredRow("X", "s", 9, 4)]},
            "1 unit stands in the logs and not in the register; cycles of it that are in no "
            "figure: 4.",
        ),
        (
            {"unregistered": [UnregisteredRow("X", "s", 9, 0)]},
            "1 unit stands in the logs and not in the register; its lines are held back.",
        ),
    ],
)
def test_whatever_could_not_be_seen_is_said(whole, given, sentence):
    assert sentence in unseen(whole(**given)).sentences


TASK = TaskDueRow(
    "U", "s", "service", date(2026, 1, 31), 273, 1500, 365, 2000, date(2027, 1, 31), 0.748, 0, 0,
    "usual", "in_time", "source",
)  # fmt: skip


def test_a_task_says_how_much_of_what_is_allowed_is_used():
    cells = task_cells(TASK)
    assert [cell.text for cell in cells] == [
        "Service", "Usual", "31 Jan 2026", "31 Jan 2027", "75%", "365 days or 2,000 cycles",
    ]  # fmt: skip
    assert cells[4].below == "273 days, 1,500 cycles"


def test_a_task_of_which_no_log_came_shows_no_figure():
    cells = task_cells(replace(TASK, state="not_seen", reason="no_task_log", last_done_on=None))
    assert [cell.text for cell in cells[2:5]] == ["not on record", "not known", "not known"]


@pytest.mark.parametrize(
    ("feature", "value", "printed"),
    [
        ("heat_up_seconds", 648.0, "10.8 min"),
        ("hold_min_celsius", 134.05, "134.0 °C"),
        ("air_removal_min_kpa", 12.25, "12.2 kPa"),
        ("leak_kpa_per_minute", 0.125, "0.12 kPa/min"),  # not mistaken for a pressure
        ("drying_seconds", None, "not known"),
    ],
)
def test_a_measured_value_has_the_unit_that_its_name_ends_in(feature, value, printed):
    assert quantity(feature, value) == printed


def test_a_range_and_a_change_are_worded_once():
    assert quantity_range("heat_up_seconds", 630, 750) == "10.5 to 12.5 min"
    assert quantity_range("heat_up_seconds", None, 750) == "not known"
    assert change("heat_up_seconds", 4.8) == "+0.08"
    assert change("hold_min_celsius", -0.13) == "\u22120.13"


def test_sites_by_like_work_stand_by_their_ratio_and_only_where_something_is_expected():
    rows = {
        ("m", "site", name): replace(RANKED, expected_count=24 / ratio if ratio else None,
                                     ratio=ratio, ratio_low=0.5, ratio_high=2.5,
                                     likely_ratio=1.1, likely_ratio_low=0.9, likely_ratio_high=1.4)
        for name, ratio in (("a", 0.8), ("b", 1.6), ("c", None))
    }  # fmt: skip
    sites = [
        SiteRow(name, name, "R", "r", 0.0, "weekly", date(2020, 1, 1), None, None) for name in "abc"
    ]
    scope = Few(sites=sites, tables=Few(rankings=rows, units_of_site={}))

    (table,) = case_mix_tables(scope, "m")
    assert [line.cells[3].text for line in table.lines] == ["1.60", "0.80"]
    assert [line.cells[2].text for line in table.lines] == ["15.0", "30.0"]
    assert table.lines[0].cells[3].below == "0.50 to 2.50"
    assert (table.lines[0].cells[4].text, table.lines[0].cells[4].below) == ("1.10", "0.90 to 1.40")
    assert case_mix_tables(scope, "another") == ()


def test_repairs_stand_latest_first_with_what_can_be_said_of_each():
    rows = [
        RepairRow("U", date(2026, 3, 1), 9, 90, 1, 100, -0.09, -0.16, -0.02, "fewer"),
        RepairRow("U", DAY, 2, 50, 0, 0, None, None, None, "too_few"),
    ]
    (table,) = repair_tables(Few(repairs={"U": rows}), unit("U"))

    latest, first = table.lines
    assert [cell.text for cell in latest.cells[1:4]] == ["2 of 50", "none run", "not known"]
    assert (first.cells[3].text, first.cells[3].below) == ("−9.0%", "−16.0% to −2.0%")
    assert first.cells[4].text == "fewer stops than before"
    assert repair_tables(Few(repairs={"U": rows}), unit("V")) == ()
