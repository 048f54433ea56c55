"""The pages of a run as text, and what vouches for each number that stands on them."""

import json
import re
import tomllib
from collections.abc import Iterator
from datetime import date
from functools import cached_property
from pathlib import Path

import duckdb
import polars as pl

from pipeline.base.assets import asset
from pipeline.base.files import safe_name
from tests.world.bound import BOUND
from tests.world.page_text import MONTHS, Block, Page, numbers
from tests.world.vouched import Vouched, queries

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
SHEETS = queries("workbook.sql")
"""What stands in each sheet of the workbook, those columns first that name a row."""
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
            found = {name: con.sql(query) for name, query in SHEETS.items()}
            self.sheets = {name: (one.columns, one.fetchall()) for name, one in found.items()}
            incidents = con.execute("SELECT incident_id, unit_serial FROM fact.incident").fetchall()
        findings = ((row["finding_id"], row["unit_serial"]) for row in self._measure("finding"))
        self._units = {"finding": dict(findings), "incident": dict(incidents)}

    def _measure(self, name: str) -> Iterator[dict]:
        return pl.read_parquet(self.pages / "measures" / f"{name}.parquet").iter_rows(named=True)

    @cached_property
    def blocks(self) -> list[tuple[str, Block]]:
        """Every block of every page that holds a number, with the page's name."""
        return [
            (path.stem, block)
            for path in sorted(self.pages.glob("*.html"))
            for block in Page(path.read_text(encoding="utf-8")).blocks
            if self.left(block)
        ]

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
        if any(re.match(pattern, self.place(page, block)) for pattern in WITHOUT):
            return []
        known = self.known_at(page, block)
        return [one for one in self.left(block) if one not in known]

    def known_at(self, page: str, block: Block) -> set[str]:
        """The numbers that a block may hold: of its row and column, or of its subject."""
        place, subject = self.place(page, block), self._subject(page, block)
        bound = [given for pattern, *given in BOUND if re.match(pattern, place)]
        if not bound:
            sources = next((given for pattern, given in RULES if re.match(pattern, place)), "")
            return self.known(sources, *subject)
        row = f"{block.row or block.text} {place}"
        found = (self._vouched.bound(*given, subject, row) for given in bound)
        return {number for numbers_there in found for number in numbers_there}

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
