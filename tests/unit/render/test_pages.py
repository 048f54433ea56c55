"""The folder of pages: what each must hold, that it stands alone, and that names stay names."""

import base64
import hashlib
import os
import re
import subprocess
import sys
from collections import Counter
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import pytest

from pipeline.base.phrases import listed, phrase
from pipeline.render.pages import render_pages

UNITS = ("S-1", "S-2", "F/1", "F-2", "Q-1", "Q-0")
KINDS = ("index.html", "region-the-levels.html", "site-script.html", "unit-S-1.html", "data.html",
         "method.html")  # fmt: skip
VOID = {"meta", "input", "br", "link", "img", "hr"}


class Page(HTMLParser):
    """A page as its elements and its text, read as a browser would."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == [], f"never closed: {self.open}"

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-3:]}"
        self.open.pop()

    def handle_data(self, data):
        if self.open and self.open[-1] not in ("style", "script"):
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def ids(self) -> list[str]:
        return [given["id"] for _, given in self.elements if "id" in given]

    def links(self) -> list[str]:
        return [given["href"] for tag, given in self.elements if tag == "a"]


@pytest.fixture(scope="session")
def read(pages) -> dict[str, Page]:
    return {name: Page(text) for name, text in pages.items()}


def test_there_is_a_page_for_the_network_each_region_site_and_unit(pages):
    assert sorted(pages) == [
        "data.html",
        "index.html",
        "method.html",
        "region-outer-banks.html",
        "region-the-levels.html",
        "site-formula.html",
        "site-quiet.html",
        "site-script.html",
        "unit-F-1-ba2f78b2.html",  # the id is "F/1": a part of its fingerprint keeps it apart
        "unit-F-2.html",
        "unit-Q-0.html",
        "unit-Q-1.html",
        "unit-S-1.html",
        "unit-S-2.html",
    ]


def test_every_element_is_closed_and_every_id_is_given_once(read):
    for name, page in read.items():
        twice = [one for one, count in Counter(page.ids()).items() if count > 1]
        assert twice == [], f"{name}: {twice}"


def test_whatever_names_an_element_names_one_that_is_there(read):
    for name, page in read.items():
        ids = set(page.ids())
        for _, given in page.elements:
            for attribute in ("aria-labelledby", "for", "data-find", "data-show"):
                assert set(given.get(attribute, "").split()) <= ids, (name, given)


def test_every_link_leads_to_a_page_that_is_there(read):
    for name, page in read.items():
        for href in page.links():
            file, _, part = href.partition("#")
            target = read[file] if file else page
            assert not part or part in target.ids(), f"{name}: {href}"


def test_every_page_can_be_reached_from_the_first(read):
    reached, waiting = set(), ["index.html"]
    while waiting:
        name = waiting.pop()
        if name in read and name not in reached:
            reached.add(name)
            waiting += read[name].links()
    assert reached == set(read)


def test_no_page_leads_or_loads_outside(pages, read):
    for name, page in read.items():
        for tag, given in page.elements:
            for attribute in ("src", "href", "srcset", "action", "poster", "xlink:href"):
                assert "//" not in given.get(attribute, ""), f"{name}: {tag} {given}"
        assert "@import" not in pages[name] and "url(http" not in pages[name]


def test_no_element_has_a_style_or_an_event_of_its_own(read):
    for name, page in read.items():
        for tag, given in page.elements:
            assert "style" not in given, f"{name}: {tag} {given}"
            assert not [one for one in given if one.startswith("on")], f"{name}: {tag} {given}"


def test_the_policy_names_the_very_style_and_script_of_the_page(pages, read):
    """Source: W3C, Content Security Policy Level 3: base64 of the SHA-256 of the element's text."""
    for name, text in pages.items():
        metas = [given for tag, given in read[name].elements if tag == "meta"]
        policy = next(
            m["content"] for m in metas if m.get("http-equiv") == "Content-Security-Policy"
        )
        for element in ("style", "script"):
            (inside,) = re.findall(rf"<{element}>(.*?)</{element}>", text, re.DOTALL)
            digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
            assert f"{element}-src 'sha256-{digest}'" in policy
        assert policy.startswith("default-src 'none'") and "unsafe" not in policy


def test_names_that_are_elements_or_formulas_are_printed_as_they_are(pages, read):
    scripts = [tag for page in read.values() for tag, _ in page.elements if tag == "script"]
    assert len(scripts) == len(pages)  # our own, once a page
    assert not [
        tag for page in read.values() for tag, _ in page.elements if tag in ("img", "b", "i")
    ]
    assert "<script>alert(1)</script> Clinic" in read["index.html"].text
    assert '=HYPERLINK("http://x.example","Clinic")' in read["index.html"].text


def test_no_page_holds_a_character_that_turns_text_round(pages):
    for name, text in pages.items():
        assert not re.search("[\u202a-\u202e\u2066-\u2069\u200b-\u200f]", text), name


def test_no_page_says_none_or_nan(read):
    for name, page in read.items():
        assert not re.search(r"\b(None(?! of\b)|nan|NaN|inf|True|False|NULL)\b", page.text), name
        assert "{" not in page.text and "}" not in page.text, name


@pytest.mark.parametrize("name", KINDS)
def test_every_page_carries_the_cautions_the_rules_and_the_day(read, name):
    text = read[name].text
    for caution in listed("cautions.short"):
        assert caution in text
    assert "Data to 31 Oct 2026" in text
    assert "Rules applied: Weekly spore test (generic default; figures reviewed" in text
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
            "table-all-sites", "table-all-units"} <= ids  # fmt: skip


def test_a_finding_says_why_since_when_what_next_and_who(read):
    text = read["index.html"].text
    assert re.search(
        r"Act now stopped cycles <script>alert\(1\)</script> Clinic , Unit 1 "
        r"Stopped 14 of 84 cycles.*?Finding [0-9a-f]{16} Since 5 Oct 2026 open for 27 days "
        r"Next step Book an engineer"
        r".*?Owner Nobody yet",
        text,
    )


def test_a_unit_with_too_few_cycles_is_shown_but_not_ranked(read):
    text = read["unit-Q-1.html"].text
    assert "0 of 12" in text and "not ranked" in text
    assert "0 of 12 (" not in text
    assert re.search(r"Unit 1 .{0,60}Too few to say 0 of 12 .{0,80}not ranked 12 of 100 needed",
                     read["index.html"].text)  # fmt: skip


def test_a_silent_unit_is_not_seen_and_never_usual(read):
    text = read["unit-F-2.html"].text
    assert "Last heard of 15 Aug 2026" in text
    assert "no data: cannot be said" in text


def test_a_unit_that_left_service_keeps_its_page_and_leaves_the_counts(read):
    assert "Left service on 1 Jun 2026" in read["unit-Q-0.html"].text
    assert "Unit 0 Q-0 1 Jun 2026" in read["site-quiet.html"].text
    assert "with 5 units in service" in read["index.html"].text


def test_a_unit_page_has_six_numbered_sections(read):
    for serial in ("S-1", "F-2", "Q-0"):
        headings = re.findall(r"\b([1-6])\. (?:Stopped cycles over|Spore tests|Maintenance tasks|"
                              r"Is it wearing|A cycle in full|Where these)",
                              read[f"unit-{serial}.html"].text)  # fmt: skip
        assert headings == ["1", "2", "3", "4", "5", "6"]


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
        assert f"Measure: {title}" in text
    for point in (
        *listed("cautions.full"),
        *listed("method.statistics"),
        *listed("method.departures"),
    ):
        assert " ".join(point.split()) in text
    assert "generic default" in text and "every 7 days" in text


def test_pages_are_the_same_bytes_when_written_again(con, group, folder, tmp_path):
    render_pages(con, group, date(2026, 10, 31), tmp_path)
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {
        p.name: p.read_bytes() for p in folder.iterdir()
    }


def test_pages_are_the_same_bytes_whatever_the_hash_seed(folder, tmp_path):
    """Another process with another order of sets and dictionaries of strings."""
    code = (
        "import importlib.util, sys, pathlib\n"
        "spec = importlib.util.spec_from_file_location('fixture', sys.argv[1])\n"
        "fixture = importlib.util.module_from_spec(spec)\n"
        "spec.loader.exec_module(fixture)\n"
        "con = fixture.open_memory()\n"
        "fixture.prepare(con)\n"
        "fixture.fill(con)\n"
        "fixture.render_pages(con, fixture.network(), fixture.AS_OF, pathlib.Path(sys.argv[2]))\n"
    )
    here = Path(__file__)
    subprocess.run(
        [sys.executable, "-c", code, str(here.with_name("conftest.py")), str(tmp_path)],
        env=os.environ | {"PYTHONHASHSEED": "4711", "PYTHONPATH": str(here.parents[3])},
        check=True,
    )
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {
        p.name: p.read_bytes() for p in folder.iterdir()
    }


def test_no_page_knows_where_it_was_made(pages, folder):
    for text in pages.values():
        assert str(folder) not in text and "/secret" not in text and str(Path.home()) not in text
