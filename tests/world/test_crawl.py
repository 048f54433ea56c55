"""Every page of an invented network is opened from the first one, and its figures are held against
the tables from which they come, read back from the exported files and not from the warehouse.
"""

import re
from html.parser import HTMLParser
from urllib.parse import urldefrag

import polars as pl
import pytest

from pipeline.render.words import with_share


class Read(HTMLParser):
    """Links, ids, and each table as rows of (href of the first cell, texts of all cells)."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: set[str] = set()
        self.tables: dict[str, list[dict]] = {}
        self.live: list[str] = []
        self._rows: list[dict] = []
        self._cell: list[str] | None = None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = {name: value or "" for name, value in attrs}
        self.ids.add(given.get("id", ""))
        self.live += [name for name in given if name.startswith("on") or name == "style"]
        if tag in ("iframe", "object", "embed", "form", "base"):
            self.live.append(tag)
        if tag == "a":
            self.links.append(given["href"])
            if self._rows and self._cell is not None and "href" not in self._rows[-1]:
                self._rows[-1]["href"] = given["href"]
        if tag == "table":
            self._rows = self.tables[given["id"]] = []
        if tag == "tr":
            self._rows.append({"cells": []})
        if tag in ("td", "th") and self._rows:
            self._cell = []
        if tag in ("span", "small") and self._cell is not None:
            self._cell.append("|")

    def handle_endtag(self, tag):
        if tag in ("td", "th") and self._cell is not None:
            self._rows[-1]["cells"].append(" ".join("".join(self._cell).split()))
            self._cell = None

    def handle_data(self, data):
        if self._cell is not None:
            self._cell.append(data)


@pytest.fixture(scope="module")
def ran(world, tmp_path_factory, run_once):
    import shutil

    folder = shutil.copytree(world, tmp_path_factory.mktemp("crawl") / "saltmarsh")
    run_once(folder)
    return folder / "pages" / "latest"


@pytest.fixture(scope="module")
def site(ran) -> dict[str, Read]:
    """Every page that can be reached from the first."""
    found: dict[str, Read] = {}
    waiting = ["index.html"]
    while waiting:
        name = waiting.pop()
        if name in found or not name.endswith(".html"):
            continue
        found[name] = Read((ran / name).read_text(encoding="utf-8"))
        waiting += [urldefrag(link).url for link in found[name].links]
        waiting = [one for one in waiting if one]
    return found


@pytest.fixture(scope="module")
def ranking(ran) -> dict[tuple[str, str, str], dict]:
    rows = pl.read_parquet(ran / "measures" / "ranking.parquet").iter_rows(named=True)
    return {(row["measure"], row["level"], row["subject_id"]): row for row in rows}


def test_every_page_is_reached_and_every_link_leads_somewhere(ran, site):
    assert set(site) == {path.name for path in ran.glob("*.html")}
    for name, page in site.items():
        for link in page.links:
            file, part = urldefrag(link)
            assert not file or (ran / file).is_file(), f"{name}: {link}"
            assert not part or part in site.get(file, page).ids, f"{name}: {link}"


def test_nothing_on_any_page_is_live(site):
    assert {name: page.live for name, page in site.items() if page.live} == {}


def test_the_stops_of_every_site_and_unit_are_those_of_the_measure(site, ranking):
    """Each page's table says x of n; the exported measure says which x and which n."""
    checked = 0
    for table, level in (("table-all-sites", "site"), ("table-all-units", "unit")):
        pages = {f"{level}-{key[2]}.html": row for key, row in ranking.items()
                 if key[:2] == ("stopped_equipment", level)}  # fmt: skip
        for row in site["index.html"].tables[table][1:]:
            expected = pages[row["href"]]
            cell = row["cells"][2]
            if expected["denominator"]:
                x_of_n = f"{expected['numerator']:,} of {expected['denominator']:,}"
                assert x_of_n in cell, row
            else:
                assert not re.search("[0-9]", cell), row
            checked += 1
    assert checked > 10


def test_every_measure_page_says_what_the_measure_says_of_the_network(site, ranking):
    names = {key[0] for key in ranking}
    assert len(names) >= 5
    for name in names:
        row = ranking[name, "network", "network"]
        first = site[f"measure-{name.replace('_', '-')}.html"].tables["table-stands"][1]
        printed = with_share(row["numerator"], row["denominator"])
        assert printed.split(" (")[0] in first["cells"][1], name


def test_every_exported_finding_has_its_page_and_no_other_has(ran, site):
    told = set(pl.read_parquet(ran / "measures" / "finding.parquet")["finding_id"])
    pages = {name[8:-5] for name in site if name.startswith("finding-")}
    assert told == pages and len(told) > 5


def test_the_balance_on_the_data_page_is_that_of_the_list(ran, site):
    rows = pl.read_csv(ran / "balance.csv", infer_schema_length=None)
    by_feed = rows.group_by("feed").agg(pl.col("read", "used", "held", "duplicate").sum())
    shown = {row["cells"][0].split("|")[0].strip(): row["cells"]
             for row in site["data.html"].tables["table-balance"][1:]}  # fmt: skip
    assert set(shown) == set(by_feed["feed"])
    for feed, *counts in by_feed.iter_rows():
        cells = [int(text.replace(",", "")) for text in shown[feed][1:] if text[:1].isdigit()]
        assert cells[-4:] == counts, feed
