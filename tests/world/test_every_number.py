"""Every number on every page is vouched for: by the measures, the tables beneath, or a declaration.

Pages are read as text. What phrases and other declarations say themselves is struck; of the rest
each number must be known of the very unit, site or region of its row or page, from the sources of
its place on the page. A number that nothing vouches for is found, and so is a place without a rule.
"""

import json
import re
import shutil
import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import duckdb
import polars as pl
import pytest
from python_calamine import CalamineWorkbook

from pipeline.base.assets import asset
from pipeline.base.files import safe_name
from pipeline.base.phrases import phrase
from tests.world.page_text import MONTHS, Block, Page, numbers
from tests.world.vouched import Vouched, tokens

HEAD = (
    "ranking recent coverage spore_due overdue drifting late_task balance_total state urgent unit "
    "site finding ranking@network"
)
STOPS = "ranking recent period reason state unit funnel"
SPORE = (
    "spore_due overdue awaited spore_week spore_test incident lookback unseen_week state unit "
    "practice@network"
)
RULES = (
    # Where a block stands, as "kind of page, part, place", and the sources that vouch for it.
    (r"data (balance-all )?(p|dd|table|summary)|\w+ sources table-balance",
     "balance balance_file balance_total"),
    (r"data held-lines |site mend ", "held held_total balance_file balance_total"),
    (r"data checks-run ", "check checks"),
    (r"data orphans ", "orphan"),
    (r"data unjudged ", "echo repeat"),
    (r"data un(registered|seen) |\w+ unseen ",
     "coverage held held_total balance_total judged urgent unit state spore_due ranking "
     "orphan"),
    (r"data (silent-units|counters) ", "coverage"),
    (r"data no-reasons table-unknown", "every_ranking"),
    (r"\w+ (no-reasons|stopped|stops|why) ", f"{STOPS} stopped stop_week shown"),
    (r"(region|site) doing dd\.", HEAD),
    (r"finding evidence ", "finding line unit task_due"),
    (r"finding |\w+ doing (p|dd|summary|h2)\b", "finding urgent line watch"),
    (r"incident steps ", "step incident spore_test"),
    (r"incident ", "incident lookback spore_test step"),
    (r"\w+ changes ", "finding past_finding urgent days new_finding kept_finding gone_finding"),
    (r"\w+ watch ", "watch watch_skill watch_band recent period ranking"),
    (r"\w+ (spore|strips) table-routine", "routine"),
    (r"\w+ (spore|strips) ", SPORE),
    (r"\w+ (upkeep|habit) ",
     "task_due late_task drifting interval habit site_habit repair book act ranking unit "
     "shown"),
    (r"\w+ routine ", "routine shown"),
    (r"\w+ certificates ", "certificate certificate_month shown"),
    (r"\w+ judged ", "judged judged_program verdict broken trace reviewed site"),
    (r"\w+ cycle(-\d)? ", "trace trace_count site"),
    (r"\w+ wear ", "wear drift shown"),
    (r"\w+ due ", "task_due late_task late certificate spore_due overdue days"),
    (r"unit sources ", "file file_total coverage"),
    (r"\w+ sources ", "balance balance_total"),
    (r"(method|glossary|measure) (profile|programs|calibration|words|meaning|statistics)",
     "practice program profile figure catalogue"),
    (r"measure ", "ranking ranked watch_skill watch_band unit"),
    (r"units |\w+ (all|units|regions-compared) ",
     f"{STOPS} {SPORE} task_due late_task drifting certificate"),
    (r"(index|region|site|unit) (doing )?(h1|p|dd)", HEAD),
)  # fmt: skip
LETTER = (
    f"{HEAD} {STOPS} held_total judged orphan days late every_ranking@network finding@network "
    "reviewed balance month"
)
WITHOUT = {
    r"site mend table-held\|Found": "what stood in the line of a log, quoted as it came",
}
"""Places whose numbers nothing vouches for, and why."""


def declared(own: Path) -> re.Pattern[str]:
    """What phrases and other declarations say themselves, where numbers stand in it."""
    texts: set[str] = set()
    for path in [asset("reports", "words.toml"), asset("reports", "calibration.toml"),
                 *asset("sql", "measure").glob("*.toml"), *asset("expectations").rglob("*.toml"),
                 *asset("expectations").rglob("*.json"), *own.rglob("*.toml")]:  # fmt: skip
        text = path.read_text(encoding="utf-8")
        texts.update(_texts(json.loads(text) if path.suffix == ".json" else tomllib.loads(text)))
    pieces = {" ".join(piece.split()) for text in texts for piece in re.split(r"\{\w*\}", text)}
    told = sorted((one for one in pieces if re.search(r"\d", one) and len(one) > 3), key=len)
    return re.compile("|".join(rf"(?<!\d){re.escape(one)}(?!\d)" for one in reversed(told)))


def _texts(said: object) -> Iterator[str]:
    if isinstance(said, str):
        yield said
    elif isinstance(said, date):
        yield f"{said.day} {MONTHS[said.month - 1]} {said.year}"
    elif isinstance(said, dict):
        for one in said.values():
            yield from _texts(one)
    elif isinstance(said, list):
        for one in said:
            yield from _texts(one)


class Crawl:
    """The pages of a run, and what vouches for their numbers."""

    def __init__(self, folder: Path) -> None:
        self.pages = folder / "pages" / "latest"
        self._declared = declared(folder)
        with duckdb.connect(folder / "state" / "warehouse.duckdb", read_only=True) as con:
            self._vouched = Vouched(con, self._measure)
            incidents = con.execute("SELECT incident_id, unit_serial FROM fact.incident").fetchall()
        findings = ((row["finding_id"], row["unit_serial"]) for row in self._measure("finding"))
        self._units = {"finding": dict(findings), "incident": dict(incidents)}

    def _measure(self, name: str) -> Iterator[dict]:
        return pl.read_parquet(self.pages / "measures" / f"{name}.parquet").iter_rows(named=True)

    def blocks(self) -> Iterator[tuple[str, Block]]:
        """Every block of every page that holds a number, with the page's name."""
        for path in sorted(self.pages.glob("*.html")):
            for block in Page(path.read_text(encoding="utf-8")).blocks:
                if self.left(block):
                    yield path.stem, block

    def left(self, block: Block) -> list[str]:
        """The numbers of a block that no declaration says; labels and chapters are names."""
        chapter = r"|^\d\.(\d|(?= ))" if block.place == "h2" else ""
        text = re.sub(rf"\bUnit \d+\b{chapter}", " ", block.text)
        return numbers(self._declared.sub(" ", text))

    def place(self, page: str, block: Block) -> str:
        """Where a block stands, as rules name it."""
        return f"{page.partition('-')[0]} {block.part} {block.place}".replace("  ", " ")

    def unvouched(self, page: str, block: Block) -> list[str]:
        """The numbers of a block that nothing vouches for."""
        place = self.place(page, block)
        if any(re.match(pattern, place) for pattern in WITHOUT):
            return []
        sources = next((given for pattern, given in RULES if re.match(pattern, place)), "")
        known = self.known(sources, *self._subject(page, block))
        return [one for one in self.left(block) if one not in known]

    def unknown(self, text: str, sources: str, level: str, subject: str) -> list[str]:
        """The numbers of a text of no page that these sources do not know of a subject."""
        known = self.known(sources, level, subject)
        return [one for one in self.left(Block("", "", "", text)) if one not in known]

    def known(self, sources: str, level: str, subject: str) -> set[str]:
        """All that these sources know of a subject."""
        return self._vouched.numbers(sources.split(), level, safe_name(subject))

    def _subject(self, page: str, block: Block) -> tuple[str, str]:
        row = re.fullmatch(r"(unit|site|region)-(.+)\.html", block.href)
        if row:
            return row[1], row[2]
        kind, _, name = page.partition("-")
        if kind in self._units:
            return "unit", self._units[kind][name]
        return (kind, name) if kind in ("unit", "site", "region") else ("network", "network")


@pytest.fixture(scope="module")
def crawl(world, tmp_path_factory, run_once) -> Crawl:
    folder = Path(shutil.copytree(world, tmp_path_factory.mktemp("numbers") / "saltmarsh"))
    run_once(folder)
    return Crawl(folder)


def test_every_number_on_every_page_is_vouched_for(crawl):
    found: dict[str, tuple] = {}
    checked = 0
    for page, block in crawl.blocks():
        checked += 1
        if left := crawl.unvouched(page, block):
            found.setdefault(crawl.place(page, block), (page, block.text, left))
    assert found == {}
    assert checked > 5000


def other(number: str) -> str:
    """Another number of its kind, which hardly anything could know."""
    if re.fullmatch(r"\d\d:\d\d", number):
        return "23:58"
    if day := re.fullmatch(r"(.*[A-Z][a-z]+ )(\d{4})", number):
        return f"{day[1]}{int(day[2]) + 9}"
    digits, end = re.fullmatch(r"(\d+)(\.\d+%?|%?)", number).groups()
    return f"{int(digits) * 99_991 + 613}{end}"


def test_a_number_that_nothing_knows_is_found_wherever_it_stands(crawl):
    """One block of each kind of place, with the last of its numbers changed into another."""
    seen, missed = set(), []
    for page, block in crawl.blocks():
        place = crawl.place(page, block)
        if place in seen or any(re.match(pattern, place) for pattern in WITHOUT):
            continue
        seen.add(place)
        number = other(crawl.left(block)[-1])
        if number not in crawl.unvouched(page, block._replace(text=f"{block.text} {number}")):
            missed.append((place, number))
    assert missed == [] and len(seen) > 150


def test_every_number_of_every_letter_is_vouched_for(crawl):
    letters = sorted((crawl.pages / "letters").glob("*.txt"))
    assert len(letters) == 5
    checked = 0
    for path in letters:
        level, _, name = path.stem.partition("-")
        subject = (level, name) if name else ("network", "network")
        for line in path.read_text(encoding="utf-8").splitlines():
            line = line.capitalize() if line.isupper() else line
            assert crawl.unknown(line, LETTER, *subject) == [], (path.name, line)
            checked += bool(crawl.left(Block("", "", "", line)))
            assert "99613" in crawl.unknown(f"{line} 99,613", LETTER, *subject)
    assert checked > 100


def test_every_figure_of_a_unit_in_the_workbook_is_one_that_the_measures_know(crawl):
    book = CalamineWorkbook.from_path(crawl.pages / "holdtime.xlsx")
    titles, *rows = book.get_sheet_by_name(phrase("workbook.sheet.units")).to_python()
    serial = titles.index(phrase("workbook.column.unit_serial"))
    sources = "ranking unit spore_due coverage state"
    checked = 0
    for row in rows:
        for title, value in zip(titles, row, strict=True):
            if isinstance(value, float | int | date) and value:
                exact = int(value) if isinstance(value, float) and value.is_integer() else value
                printed = {*map(str, tokens(exact))}
                assert printed & crawl.known(sources, "unit", row[serial]), (title, value)
                assert not {"99613"} & crawl.known(sources, "unit", row[serial])
                checked += 1
    assert len(rows) == 24 and checked > 200
