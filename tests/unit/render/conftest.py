"""A small network in memory, with the names that an attacker would choose, measured for real.

Five units at three sites: one that has begun to stop its cycles, one that takes longer and longer
to heat, one with growth, one that is silent, one that has hardly run; and one that left service.
"""

from datetime import date, datetime
from html.parser import HTMLParser
from pathlib import Path

import pytest

from pipeline.config.network import Assignment, Network, Site
from pipeline.judge.judge import judge_cycles
from pipeline.measure.past import measure_with_past
from pipeline.practice.profiles import load_profiles, write_profiles
from pipeline.practice.program_tables import load_programs, write_programs
from pipeline.render.pages import render_pages
from pipeline.render.tables.tables import Tables
from pipeline.warehouse.build import (
    prepare,
    rebuild_touched,
    touch,
    write_registers,
)
from pipeline.warehouse.connection import open_memory

AS_OF = date(2026, 10, 31)
SCRIPT = "<script>alert(1)</script> Clinic"
FORMULA = '=HYPERLINK("http://x.example","Clinic")'
BACKWARDS = "Quiet \u202ecinilC\u202c & Sons"

SITES = (
    Site("script", SCRIPT, "The Levels", "Europe/London", 12.0, "weekly", date(2020, 1, 1)),
    Site("formula", FORMULA, 'Outer "Banks"', "Europe/London", 310.0, "weekly", date(2020, 1, 1),
         owner="J. <b>Fenn</b>"),
    Site("quiet", BACKWARDS, "The Levels", "Europe/London", 4.0, "weekly", date(2020, 1, 1),
         owner="M. Tarn"),
)  # fmt: skip
ASSIGNMENTS = (
    Assignment("S-1", "script", "Unit 1", "prevacuum", date(2020, 1, 1)),
    Assignment("S-2", "script", "Unit <2>", "gravity", date(2020, 1, 1)),
    Assignment("F/1", "formula", "=1+1", "prevacuum", date(2020, 1, 1)),
    Assignment("F-2", "formula", "Unit 2", "gravity", date(2020, 1, 1)),
    Assignment("Q-1", "quiet", "Unit 1", "gravity", date(2026, 9, 1)),
    Assignment("Q-0", "quiet", "Unit 0", "gravity", date(2020, 1, 1), date(2026, 6, 1)),
)


def network(folder: Path = Path("/nowhere")) -> Network:
    sites = {site.site_id: site for site in SITES}
    return Network(
        folder, "Saltmarsh <Isles> Clinics", True, sites, ASSIGNMENTS, (), folder, folder, "f"
    )


@pytest.fixture(scope="session")
def con():
    with open_memory() as con:
        prepare(con)
        fill(con)
        yield con


@pytest.fixture(scope="session")
def group() -> Network:
    return network()


@pytest.fixture(scope="session")
def folder(con, group, tmp_path_factory) -> Path:
    """The pages of this network, written once."""
    folder = tmp_path_factory.mktemp("pages")
    render_pages(Tables(con, group, AS_OF), folder)
    return folder


@pytest.fixture(scope="session")
def pages(folder) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.html"))}


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


def fill(con) -> None:
    """Stage the logs of this network, and make the model and every figure of it."""
    write_registers(con, network())
    con.execute(
        "INSERT INTO register.source VALUES ('tests', 'quiet', 'unreachable', '/secret', NULL)"
    )
    for site in SITES:
        for kind in ("cycle", "test", "task"):
            _file(con, f"{kind}-{site.site_id}", kind, site.site_id)
    _file(con, "reading-script", "reading", "script")
    _file(con, "broken", "cycle", "formula", "rejected", 'not text: "<b>\u202e"; send it again')
    con.execute(Path(__file__).with_name("logs.sql").read_text(encoding="utf-8"))
    ids = [row[0] for row in con.execute("SELECT file_id FROM stage.file").fetchall()]
    touch(con, ids)
    rebuild_touched(con)
    profiles = load_profiles(network())
    programs = load_programs(network(), {name: one.parents for name, one in profiles.items()})
    write_programs(con, programs)
    judge_cycles(con, {site.site_id: site.ambient_kpa for site in SITES}, programs.fingerprint)
    write_profiles(con, profiles)
    measure_with_past(con, AS_OF)


def _file(con, file_id: str, kind: str, site_id: str, state: str = "read", reason=None) -> None:
    con.execute(
        "INSERT INTO stage.file VALUES (?, ?, ?, ?, ?, ?, ?, 1, 1, 0, ?, ?)",
        [
            file_id, f"{kind}s", kind, site_id, f"logs/{site_id}/{kind}-2026.csv",
            (file_id.encode().hex() + "0" * 64)[:64], datetime(2026, 11, 1), state, reason,
        ],
    )  # fmt: skip
