"""The same pages in each language: the same figures, links and keys, and no English left."""

import re
from dataclasses import replace
from html import unescape

import polars as pl
import pytest
from python_calamine import CalamineWorkbook

from pipeline.base.language import LANGUAGES, ORIGINAL, numeral, speaking
from pipeline.base.phrases import words
from pipeline.config.network import Network
from pipeline.render.pages import render_pages
from pipeline.render.tables.tables import Tables
from tests.unit.base.test_words import flat, texts_of
from tests.unit.render.conftest import AS_OF, Page

OTHERS = tuple(spoken for spoken in LANGUAGES if spoken != ORIGINAL)
WHOLE = ("de", "fr", "es")
QUOTING = "method.html"
"""It prints trials and sources, which stand in English everywhere and are said to."""


def site_in(group: Network, site_id: str, spoken: str) -> Network:
    site = replace(group.sites[site_id], language=spoken)
    return replace(group, sites=group.sites | {site_id: site})


@pytest.fixture(scope="session")
def spoken_pages(con, group, tmp_path_factory):
    """The folders of pages by language, each written once."""
    made = {}

    def of(spoken: str) -> dict[str, str]:
        if spoken not in made:
            folder = tmp_path_factory.mktemp(f"pages-{spoken}")
            render_pages(Tables(con, replace(group, language=spoken), AS_OF), folder)
            files = sorted([*folder.glob("*.html"), *folder.glob("*.ics")])
            made[spoken] = {path.name: path.read_text(encoding="utf-8") for path in files}
        return made[spoken]

    return of


def text_of(html: str) -> str:
    """What a reader sees and hears, one line an element."""
    body = re.sub(r"<(style|script)\b.*?</\1>", "", html, flags=re.DOTALL)
    heard = re.findall(r'(?:title|aria-label)="([^"]*)"', body)
    return unescape("\n".join([re.sub(r"<[^>]+>", "\n", body), *heard]))


def values(text: str, spoken: str) -> list[float]:
    """Every number of a text, read by the signs of its language."""
    with speaking(spoken):
        group_sign, point = numeral(10_000)[2], numeral(1_000_000)[1]
        assert group_sign == point
    decimal = "." if spoken.startswith("en") else ","
    found = re.findall(r"\d[\d.,\N{NARROW NO-BREAK SPACE}]*\d|\d", text)
    return [float(one.replace(group_sign, "").replace(decimal, ".")) for one in found]


def test_numbers_are_read_by_their_signs():
    assert values("1,234.5 of 12,000", "en-GB") == [1234.5, 12000]
    assert values("1.234,5 von 12.000", "de") == [1234.5, 12000]
    thin = "\N{NARROW NO-BREAK SPACE}"
    assert values(f"1{thin}234,5 sur 12{thin}000", "fr") == [1234.5, 12000]
    assert values("1234,5 de 12.000", "es") == [1234.5, 12000]


@pytest.mark.parametrize("spoken", OTHERS)
def test_every_page_is_there_says_its_language_and_leads_where_the_english_one_does(
    spoken_pages, spoken
):
    there, here = spoken_pages(ORIGINAL), spoken_pages(spoken)
    assert list(here) == list(there)
    for name, html in here.items():
        if name.endswith(".ics"):
            continue
        page, english = Page(html), Page(there[name])
        assert f'<html lang="{spoken}">' in html
        assert page.links() == english.links(), name
        assert page.ids() == english.ids(), name


def figures_of(html: str) -> list[str]:
    """The cells of those columns that a table says hold figures: n3 for the third."""
    found = []
    for kinds, table in re.findall(r'<table [^>]*class="([^"]*)">(.*?)</table>', html, re.DOTALL):
        places = [int(place) for place in re.findall(r"\bn(\d+)\b", kinds)]
        for row in re.findall(r"<tr[^>]*><th[> ].*?</tr>", table, re.DOTALL):
            cells = re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL)
            found += [cells[place - 1] for place in places]
    return found


@pytest.mark.parametrize("spoken", OTHERS)
def test_cells_of_numbers_hold_the_same_numbers(spoken_pages, spoken):
    there, here = spoken_pages(ORIGINAL), spoken_pages(spoken)
    count = 0
    for name, html in here.items():
        if name == QUOTING:
            continue
        pairs = zip(figures_of(there[name]), figures_of(html), strict=True)
        for english, ours in pairs:
            found = values(text_of(ours), spoken)
            assert sorted(found) == sorted(values(text_of(english), ORIGINAL)), (name, ours)
            count += len(found)
    assert count > 300


@pytest.mark.parametrize("spoken", WHOLE)
def test_no_sentence_is_left_in_english(spoken_pages, spoken):
    """Of each phrase the pieces between its blanks; sources are quoted and may hold a few."""
    theirs = dict(flat(words(spoken)))
    pieces = {}
    for name, entry in flat(words()):
        for there, here in zip(texts_of(entry), texts_of(theirs[name]), strict=True):
            if there != here and not name.startswith("confidence."):
                pieces |= {part.strip(" .,;:"): name for part in re.split(r"\{\w+\}", there)}
    long = {piece: name for piece, name in pieces.items() if len(piece) > 20}
    assert len(long) > 800
    for page, html in spoken_pages(spoken).items():
        if page == QUOTING:
            continue
        text = text_of(html).replace("\r\n ", "")
        assert [(piece, name) for piece, name in long.items() if piece in text] == [], page


def test_a_site_speaks_its_own_language_and_changes_no_page_of_another(
    con, group, tmp_path, folder
):
    render_pages(Tables(con, site_in(group, "script", "de"), AS_OF), tmp_path)
    its_own = {f"site-script.{ending}" for ending in ("html", "ics")}
    its_own |= {"unit-S-1.html", "unit-S-2.html"}
    findings = Tables(con, group, AS_OF).findings
    its_own |= {f"finding-{row.finding_id}.html" for row in findings if row.site_id == "script"}
    changed = {
        path.name
        for path in folder.iterdir()
        if path.is_file() and path.read_bytes() != (tmp_path / path.name).read_bytes()
    }
    assert len(its_own) > 5
    assert changed == its_own
    assert all('lang="de"' in (tmp_path / n).read_text() for n in its_own if n.endswith("html"))


def test_american_pages_differ_in_dates_and_spelling_and_say_the_same_words(spoken_pages):
    there, here = spoken_pages(ORIGINAL), spoken_pages("en-US")
    assert "Oct 31, 2026" in here["index.html"] and "31 Oct 2026" not in here["index.html"]
    site, english = text_of(here["site-script.html"]), text_of(there["site-script.html"])
    letters = re.compile(r"[^A-Za-z]+")
    assert sorted(set(letters.split(english)) - set(letters.split(site))) in ([], ["mains"])


@pytest.mark.parametrize("spoken", WHOLE)
def test_what_is_handed_on_speaks_the_language_of_the_network(con, group, tmp_path, spoken):
    render_pages(Tables(con, replace(group, language=spoken), AS_OF), tmp_path)
    theirs = words(spoken)
    book = CalamineWorkbook.from_path(tmp_path / "holdtime.xlsx")
    head, *rows = book.get_sheet_by_name(theirs["workbook"]["sheet"]["findings"]).to_python()
    state = head.index(theirs["workbook"]["column"]["state"])
    assert {row[state] for row in rows} <= set(theirs["state_word"].values())
    with speaking(spoken):
        said = {(row.why, row.next_step) for row in Tables(con, group, AS_OF).findings}
    column = theirs["workbook"]["column"]
    places = [head.index(column[name]) for name in ("why", "next_step")]
    assert {tuple(row[place] for place in places) for row in rows} == said
    table = pl.read_csv(tmp_path / "measures" / "finding.csv")
    assert set(table.select("why", "next_step").iter_rows()) == said
    reasons = pl.read_parquet(tmp_path / "measures" / "state.parquet")["reason"]
    assert not any("{" in reason or "Nothing found" in reason for reason in reasons)


def test_sources_are_marked_as_english_on_pages_in_another_language(spoken_pages):
    there, here = spoken_pages(ORIGINAL)[QUOTING], spoken_pages("de")[QUOTING]
    assert '<span lang="en">CDC' in here and "stehen hier auf Englisch" in text_of(here)
    assert '<span lang="en">' not in there and "stand in English here" not in there
