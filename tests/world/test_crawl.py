"""Every page of an invented network is opened from the first one, and its figures are held against
the tables from which they come, read back from the exported files and not from the warehouse.
"""

import re
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urldefrag

import polars as pl
import pytest

from pipeline.base.files import safe_name
from pipeline.render.words import percent_range, with_share


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
def pages(ran) -> Path:
    """The folder of the world's pages."""
    return ran[0] / "pages" / "latest"


@pytest.fixture(scope="module")
def site(pages) -> dict[str, Read]:
    """Every page that can be reached from the first."""
    found: dict[str, Read] = {}
    waiting = ["index.html"]
    while waiting:
        name = waiting.pop()
        if name in found or not name.endswith(".html"):
            continue
        found[name] = Read((pages / name).read_text(encoding="utf-8"))
        waiting += [urldefrag(link).url for link in found[name].links]
        waiting = [one for one in waiting if one]
    return found


@pytest.fixture(scope="module")
def ranking(pages) -> dict[tuple[str, str, str], dict]:
    rows = pl.read_parquet(pages / "measures" / "ranking.parquet").iter_rows(named=True)
    return {(row["measure"], row["level"], row["subject_id"]): row for row in rows}


def test_every_page_is_reached_and_every_link_leads_somewhere(pages, site):
    assert set(site) == {path.name for path in pages.glob("*.html")}
    for name, page in site.items():
        for link in page.links:
            file, part = urldefrag(link)
            assert not file or (pages / file).is_file(), f"{name}: {link}"
            assert not part or part in site.get(file, page).ids, f"{name}: {link}"


def test_nothing_on_any_page_is_live(site):
    assert {name: page.live for name, page in site.items() if page.live} == {}


def test_the_stops_of_every_site_and_unit_are_those_of_the_measure(site, ranking):
    """Each page's table says x of n; the exported measure says which x and which n."""
    checked = 0
    for name, table, level in (
        ("index.html", "table-all-sites", "site"), ("units.html", "table-all-units", "unit"),
    ):  # fmt: skip
        pages = {f"{level}-{key[2]}.html": row for key, row in ranking.items()
                 if key[:2] == ("stopped_equipment", level)}  # fmt: skip
        for row in site[name].tables[table][1:]:
            expected = pages[row["href"]]
            cell = row["cells"][2]
            if expected["denominator"]:
                x_of_n = f"{expected['numerator']:,} of {expected['denominator']:,}"
                assert x_of_n in cell, row
            else:
                assert not re.search("[0-9]", cell), row
            checked += 1
    assert checked > 10


@pytest.fixture(scope="module")
def recent(pages) -> dict[str, tuple[int, int]]:
    """Stopped and run in the last four weeks, by unit and by site."""
    rows = pl.read_parquet(pages / "measures" / "recent.parquet")
    found = {}
    for subject in ("unit_serial", "site_id"):
        sums = rows.group_by(subject).agg(pl.col("stopped_count", "run_count").sum())
        found |= {key: (stopped, run) for key, stopped, run in sums.iter_rows()}
    return found


MEASURED = {
    "Stopped by the unit": "stopped_equipment", "Stopped, all reasons": "stopped_all",
    "Done late": "task_late", "No known reason": "stopped_unknown",
}  # fmt: skip
STATES = {
    "act_now": "Act now", "look_into": "Look into", "usual": "Usual",
    "too_few": "Too few to say", "not_seen": "Not seen",
}  # fmt: skip


def subject_cells(site, levels=("unit", "site", "region")):
    """Each cell of each table whose rows are units, sites or regions, with the column's title."""
    for page, read in site.items():
        for table, rows in read.tables.items():
            titles = [cell.split("|")[0].strip() for cell in rows[0]["cells"]]
            for row in rows[1:]:
                found = re.fullmatch(r"(unit|site|region)-(.+)\.html", row.get("href", ""))
                if found and found[1] in levels:
                    for title, cell in zip(titles, row["cells"], strict=True):
                        yield f"{page} {table}", title, found[1], found[2], cell


def test_every_share_of_a_unit_site_or_region_is_that_of_its_measure(site, ranking):
    """In whichever table, on whichever page: x of n, its likely range, and its position."""
    ids = {(level, safe_name(subject)): subject for _, level, subject in ranking}
    checked = Counter()
    for where, title, level, name, cell in subject_cells(site):
        subject = ids.get((level, name))
        # A measure's own page ranks by that measure, all others by what the units stopped.
        own = re.match(r"measure-(.+)\.html", where)
        by = own[1].replace("-", "_") if own else "stopped_equipment"
        likely = ranking.get((by, level, subject))
        # What is overdue counts as late in the measure, but says nothing yet of a habit.
        measure = "" if where.endswith("habit") else MEASURED.get(title, "")
        row = ranking.get((measure, level, subject))
        if row and row["denominator"]:
            x_of_n = f"{row['numerator']:,} of {row['denominator']:,}"
            assert re.search(rf"(^|[^0-9,]){x_of_n}($|[^0-9,])", cell), (where, title, subject)
        elif title == "Likely rate, 9 in 10" and likely and likely["likely"] is not None:
            words = percent_range(likely["likely_low"], likely["likely_high"])
            assert words in cell, (where, subject, cell)
        elif title == "Likely position" and likely and likely["is_ranked"]:
            low, high, total = (likely[f"position_{end}"] for end in ("low", "high", "count"))
            place = f"{low}" if low == high else f"{low}\N{EN DASH}{high}"
            assert cell.split("|")[0].strip() == f"{place} of {total}", (where, subject)
        else:
            continue
        checked[title] += 1
    assert set(checked) == {*MEASURED, "Likely rate, 9 in 10", "Likely position"}
    assert min(checked.values()) > 5


def test_the_last_four_weeks_of_every_unit_and_site_are_those_exported(site, recent):
    checked = 0
    for where, title, _, name, cell in subject_cells(site, ("unit", "site")):
        if title == "Last 4 weeks" and recent.get(name, (0, 0))[1]:
            stopped, run = recent[name]
            assert cell.split("|")[0].strip() == f"{stopped:,} of {run:,}", (where, name)
            checked += 1
    assert checked > 20


def test_every_state_is_that_of_the_measures(pages, site):
    rows = pl.read_parquet(pages / "measures" / "state.parquet").iter_rows(named=True)
    states = {(row["level"], safe_name(row["subject_id"])): row["state"] for row in rows}
    checked = 0
    for where, title, level, name, cell in subject_cells(site):
        if title == "State" and where.split("table-")[1] in (
            "all-sites", "all-units", "units", "regions", "stopped-sites", "stopped-units",
        ):  # fmt: skip
            state = STATES[states.get((level, name), "not_seen")]
            assert cell.split("|")[1].strip().startswith(state), (where, name, cell)
            checked += 1
    assert checked > 20


def test_habits_are_those_exported(pages, site):
    rows = pl.read_parquet(pages / "measures" / "habit.parquet").iter_rows(named=True)
    habits = {safe_name(row["unit_serial"]): row for row in rows}
    for where, title, _, name, cell in subject_cells(site, ("unit",)):
        if title == "Done late" and where.endswith("table-upkeep-habit"):
            row = habits[name]
            assert f"{row['late_count']:,} of {row['interval_count']:,}" in cell, (where, name)


def test_units_that_drift_are_as_many_as_the_drifts_say(pages, site):
    drifts = pl.read_parquet(pages / "measures" / "drift.parquet")
    urgent = drifts.filter(pl.col("state").is_in(["act_now", "look_into"]))
    units = dict(urgent.group_by("site_id").agg(pl.col("unit_serial").n_unique()).iter_rows())
    checked = 0
    for where, title, _, name, cell in subject_cells(site, ("site",)):
        if title == "Units drifting":
            assert cell.split(" of ")[0] == str(units.get(name, 0)), (where, name, cell)
            checked += 1
    assert checked


def test_every_measure_page_says_what_the_measure_says_of_the_network(site, ranking):
    names = {key[0] for key in ranking}
    assert len(names) >= 5
    for name in names:
        row = ranking[name, "network", "network"]
        first = site[f"measure-{name.replace('_', '-')}.html"].tables["table-stands"][1]
        printed = with_share(row["numerator"], row["denominator"])
        assert printed.split(" (")[0] in first["cells"][1], name


def test_every_exported_finding_has_its_page_and_no_other_has(pages, site):
    told = set(pl.read_parquet(pages / "measures" / "finding.parquet")["finding_id"])
    pages = {name[8:-5] for name in site if name.startswith("finding-")}
    assert told == pages and len(told) > 5


def test_the_balance_on_the_data_page_is_that_of_the_list(pages, site):
    rows = pl.read_csv(pages / "balance.csv", infer_schema_length=None)
    by_feed = rows.group_by("feed").agg(pl.col("read", "used", "held", "duplicate").sum())
    shown = {row["cells"][0].split("|")[0].strip(): row["cells"]
             for row in site["data.html"].tables["table-balance"][1:]}  # fmt: skip
    assert set(shown) == set(by_feed["feed"])
    for feed, *counts in by_feed.iter_rows():
        cells = [int(text.replace(",", "")) for text in shown[feed][1:] if text[:1].isdigit()]
        assert cells[-4:] == counts, feed
