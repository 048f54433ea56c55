"""The folder of pages: what each must hold, that it stands alone, and that names stay names."""

import base64
import hashlib
import os
import re
import subprocess
import sys
from collections import Counter
from datetime import date
from pathlib import Path

from pipeline.render.pages import render_pages
from pipeline.render.tables import at_hand
from pipeline.render.tables.tables import Tables


def test_there_is_a_page_for_the_network_each_region_site_unit_and_growth(pages):
    found = [name for name in sorted(pages) if not name.startswith(("finding-", "measure-"))]
    assert found == [
        "data.html",
        "glossary.html",
        "incident-5bbf6d0c416be3a7.html",  # the growth of F/1 that is open
        "incident-c6a588c8472f5c62.html",  # one of it that was cleared
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
        "units.html",
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


def test_every_link_leads_to_a_page_or_a_file_that_is_there(read, folder):
    for name, page in read.items():
        for href in page.links():
            file, _, part = href.partition("#")
            assert not file or (folder / file).is_file(), f"{name}: {href}"
            target = read.get(file, page)
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
            (inside,) = re.findall(rf"<{element}\b[^>]*>(.*?)</{element}>", text, re.DOTALL)
            digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
            assert f"{element}-src 'sha256-{digest}'" in policy
        assert policy.startswith("default-src 'none'") and "unsafe" not in policy


def test_a_page_has_the_script_of_sorted_tables_only_where_it_may_need_it(pages):
    for name, text in pages.items():
        has_script = "document.currentScript" in text
        assert has_script or not re.search(r'class="[^"]*sortable|class="find"', text), name
        assert has_script == (not re.match(r"unit-|finding-|incident-|m|glossary", name)), name


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


def contents(folder: Path) -> dict[str, bytes]:
    files = (path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


def test_pages_are_the_same_bytes_when_written_again(con, group, folder, tmp_path):
    render_pages(Tables(con, group, date(2026, 10, 31)), tmp_path)
    assert contents(tmp_path) == contents(folder)


def test_pages_are_the_same_bytes_when_units_and_sites_are_read_one_by_one(
    con, group, folder, tmp_path, monkeypatch
):
    read: dict[str, list[int]] = {}
    whole = Tables.rows

    def noted(self, name, row, some=None):
        read.setdefault(name, []).extend(len(keys) for keys in (some or {}).values())
        return whole(self, name, row, some)

    monkeypatch.setattr(at_hand, "UNITS_AT_ONCE", 1)
    monkeypatch.setattr(at_hand, "SITES_AT_ONCE", 1)
    monkeypatch.setattr(Tables, "rows", noted)
    render_pages(Tables(con, group, date(2026, 10, 31)), tmp_path)
    assert contents(tmp_path) == contents(folder)
    # What is many rows a unit or site is never read of more; what is a row a file or line, not at
    # all, because it goes from the query to the list.
    in_parts = {name for name, sizes in read.items() if sizes}
    assert in_parts >= {"drift", "held_first", "source", "spore_test", "spore_week", "stop_period",
                        "stopped_cycle", "task_done", "trace", "wear_week"}  # fmt: skip
    assert all({*read[name]} == {1} for name in in_parts)
    assert not {"file", "held"} & {*read}


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
        "tables = fixture.Tables(con, fixture.network(), fixture.AS_OF)\n"
        "fixture.render_pages(tables, pathlib.Path(sys.argv[2]))\n"
    )
    here = Path(__file__)
    subprocess.run(
        [sys.executable, "-c", code, str(here.with_name("conftest.py")), str(tmp_path)],
        env=os.environ | {"PYTHONHASHSEED": "4711", "PYTHONPATH": str(here.parents[3])},
        check=True,
    )
    assert contents(tmp_path) == contents(folder)


def test_no_page_knows_where_it_was_made(pages, folder):
    for text in pages.values():
        assert str(folder) not in text and "/secret" not in text and str(Path.home()) not in text


def test_the_style_of_a_page_knows_every_place_that_its_tables_name(pages):
    """A table says that its third column holds figures (n3), or has no room on a phone (w3)."""
    seen = set()
    for name, html in pages.items():
        style = html.partition("<style>")[2].partition("</style>")[0]
        kinds = " ".join(re.findall(r'<table [^>]*class="([^"]*)"', html))
        for kind, place in re.findall(r"\b([nw])([0-9]+)\b", kinds):
            assert f".{kind}{place} td:nth-child({place})" in style, name
            seen.add(f"{kind}{place}")
    assert {"n2", "w3", "n9", "w10"} <= seen
