"""What each page must say, looked for as a reader would find it."""

import re

import pytest

from pipeline.base.phrases import listed, phrase
from pipeline.render.paths import unit_page

KINDS = ("index.html", "region-the-levels.html", "site-script.html", "unit-S-1.html", "data.html",
         "method.html")  # fmt: skip


@pytest.mark.parametrize("name", KINDS)
def test_every_page_carries_the_cautions_the_rules_and_the_day(read, name):
    text = read[name].text
    for caution in listed("cautions.short"):
        assert caution in text
    assert "Data to 31 Oct 2026" in text
    assert "Rules applied: Weekly spore test (figures reviewed" in text
    assert "All clinics on this page are invented." in text


def test_the_first_sentence_is_the_news(read):
    text = read["index.html"].text
    assert text.index("4 units need action now.") < text.index("What needs doing")
    assert "0 of 5 ran as usual." in text


def test_what_was_received_stands_before_every_figure(read):
    text = read["index.html"].text
    assert "units heard from 4 of 5 of those in the register" in text
    assert text.index("units heard from") < text.index("of load cycles stopped")


def test_what_could_not_be_seen_is_said_on_every_overview(read):
    for name in ("index.html", "region-outer-banks.html", "site-formula.html", "data.html"):
        assert "What we could not see" in read[name].text
    text = read["index.html"].text
    assert "nothing from 1 unit after 15 Aug 2026. It is not counted as usual." in text
    assert 'the location of "tests" could not be read in the last run.' in text
    assert "1 file could not be read and was set aside whole." in text
    assert "Every registered unit sent logs: 2 of 2." in read["site-script.html"].text


def test_all_three_rankings_stand_by_site_and_by_unit(read):
    ids = set(read["index.html"].ids())
    for ranking in ("stopped", "spore", "upkeep"):
        assert {ranking, f"table-{ranking}-sites"} <= ids
    assert {"table-stopped-units", "table-spore-units", "table-upkeep-wear", "table-upkeep-tasks",
            "table-all-sites"} <= ids  # fmt: skip


def test_every_unit_in_service_stands_on_the_page_of_units_which_every_page_leads_to(read):
    page = read["units.html"]
    in_service = {unit_page(serial) for serial in ("S-1", "S-2", "F/1", "F-2", "Q-1")}
    assert {href for href in page.links() if href.startswith("unit-")} == in_service
    assert all("units.html" in other.links() for other in read.values())


def test_a_finding_says_why_since_when_what_next_and_who(read):
    text = read["index.html"].text
    assert re.search(
        r"Act now stopped cycles <script>alert\(1\)</script> Clinic , Unit 1 "
        r"Stopped 14 of \d\d cycles in \d weeks.*?"
        r"Finding [0-9a-f]{16} Since 5 Oct 2026 open for 27 days "
        r"Next step Book an engineer"
        r".*?Owner Nobody yet",
        text,
    )


def test_a_unit_with_too_few_cycles_is_shown_but_not_ranked(read):
    text = read["unit-Q-1.html"].text
    assert "0 of 12" in text and "not ranked" in text
    assert "0 of 12 (" not in text
    assert re.search(r"Unit 1 .{0,60}Too few to say 0 of 12 .{0,80}not ranked 12 of 100 needed",
                     read["units.html"].text)  # fmt: skip


def test_a_silent_unit_is_not_seen_and_never_usual(read):
    text = read["unit-F-2.html"].text
    assert "Last heard of 15 Aug 2026" in text
    assert "no data: cannot be said" in text


def test_a_unit_that_left_service_keeps_its_page_and_leaves_the_counts(read):
    assert "Left service on 1 Jun 2026" in read["unit-Q-0.html"].text
    assert "Unit 0 Q-0 1 Jun 2026" in read["site-quiet.html"].text
    assert "with 5 units in service" in read["index.html"].text


def test_a_unit_page_has_seven_numbered_sections(read):
    for serial in ("S-1", "F-2", "Q-0"):
        headings = re.findall(r"\b([1-7])\. (?:Stopped cycles over|Spore tests|Maintenance tasks|"
                              r"Is it wearing|Were its cycles|Cycles in full|Where these)",
                              read[f"unit-{serial}.html"].text)  # fmt: skip
        assert headings == ["1", "2", "3", "4", "5", "6", "7"]


def test_an_inspector_finds_file_line_and_fingerprint_of_a_figure(read):
    text = read["unit-S-1.html"].text
    assert re.search(r"logs/script/cycle-2026\.csv, line [\d,]+ file [0-9a-f]{12}", text)
    assert re.search(r"\b[0-9a-f]{64}\b", text)
    assert "1,095 of 1,095" in text and "no gap in its counter" in text


def test_growth_lists_the_loads_since_the_last_clear_test_and_says_who_decides(read):
    text = read["unit-F-1-ba2f78b2.html"].text
    assert re.search(r"39 load cycles since the last clear test \(12 Oct 2026\)", text)
    assert phrase("tests.lookback_note") in text


def test_a_region_shows_its_failing_units_first_beside_the_network(read):
    text = read["region-the-levels.html"].text
    assert text.index("What needs doing in this region") < text.index("units heard from")
    assert re.search(
        r"Units here stopped [\d,]+ of [\d,]+ \(0\.7%\).*the network's stopped 0\.4%", text
    )


def test_the_data_page_balances_and_names_every_fault(read):
    text = read["data.html"].text
    assert re.search(r"5,452 records read: 5,450 used, 2 held, 0 duplicate\. It adds up\.", text)
    assert 'not text: "<b>' in text
    assert re.search(r"STG-03 started", text) and "no unit: give its serial" in text
    assert re.search(r"Could not run no column <x>", text)
    assert "1 of 5 registered units is silent" in text


def test_what_stood_in_a_held_line_is_quoted_on_its_own_sites_page_only(read):
    for name, page in read.items():
        assert ("=cmd|<x>" in page.text) == (name == "site-formula.html"), name


def test_a_rule_that_never_ran_has_not_passed(read):
    assert re.search(r"1 of \d+ rules were met by every line", read["data.html"].text)


def test_the_method_page_explains_every_measure_and_every_caution(read, con):
    text = read["method.html"].text
    for (title,) in con.execute("SELECT title FROM measure.catalogue").fetchall():
        assert title in text
    for point in (
        *listed("cautions.full"),
        *listed("method.statistics"),
        *listed("method.departures"),
    ):
        assert " ".join(point.split()) in text
    assert "not legal advice" in text and "every 7 days" in text


def rows(page: str, table: str) -> list[list[str]]:
    """The cells of a table's rows as text, without what stands small below."""
    (inside,) = re.findall(rf'id="table-{table}".*?<tbody[^>]*>(.*?)</tbody>', page, re.DOTALL)
    plain = re.sub(r"<small>.*?</small>", "", inside)
    return [
        [
            " ".join(re.sub(r"<[^>]+>", " ", cell).split())
            for cell in re.findall(r"<t[hd](?: [^>]*)?>(.*?)</t[hd]>", row, re.DOTALL)
        ]
        for row in re.findall(r"<tr.*?</tr>", plain, re.DOTALL)
    ]


def test_units_stand_worst_first_by_stops(pages):
    """By the chance of being above the network; the one that is not ranked last."""
    table = rows(pages["index.html"], "stopped-units")
    assert (table[0][0], table[0][2]) == ("Unit 1", "1.3%")
    assert table[-1][4] == "not ranked"


def test_units_stand_longest_overdue_first(pages):
    table = rows(pages["index.html"], "spore-units")
    assert [row[2] for row in table[:3]] == ["19 days", "12 days", "not overdue"]
    assert [row[1] for row in table[:2]] == ["Act now", "Act now"]


def test_what_is_due_at_a_site_is_overdue_first_and_then_by_day(pages):
    table = rows(pages["site-script.html"], "due")
    urgent = [row[3] in ("Act now", "Look into") for row in table]
    assert urgent == sorted(urgent, reverse=True) and not urgent[-1]
    assert table[-1] == ["2 Nov 2026", "Unit 1", "Spore test", "Usual"]


def test_reasons_stand_beside_what_is_usual_for_so_many_stops(pages):
    """38 of 76 stops are of this unit; the network has 43, 14 and 19 of each reason."""
    assert rows(pages["unit-S-1.html"], "reasons") == [
        ["Not recorded", "18", "22"],
        ["Door or gasket leak", "14", "7"],
        ["Stopped by a person in the hold", "6", "10"],
    ]


def test_the_first_four_weeks_above_the_limit_are_told(pages):
    assert rows(pages["unit-S-1.html"], "above")[0][:4] == ["4 Oct 2026", "14", "84", "16.7%"]
