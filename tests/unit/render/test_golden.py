"""Each block of a page as it was when somebody last looked; `pytest --update-golden` writes anew.

A difference is no fault by itself: it is a change that readers see, so a person looks at it.
"""

import importlib.util
from pathlib import Path

import pytest

from pipeline.render import environment
from pipeline.render.charts.marks import icon
from pipeline.render.views import (
    Badge,
    Cell,
    Column,
    Fact,
    Figure,
    Finding,
    Findings,
    LegendItem,
    Line,
    Link,
    Section,
    Table,
    Unseen,
)

GOLDEN = Path(__file__).parent / "golden"
EVIL = '<b onclick="x">=1+1</b> & {{ x }}'
ACT = Badge("act_now", "Act now", icon("act_now"), "growth found")
TABLE = Table(
    "places",
    "Places",
    (
        Column("Place"),
        Column("State"),
        Column("Stopped", "of run", is_number=True),
        Column("Note", is_wide_only=True),
    ),
    (
        Line(
            (
                Cell(EVIL, "The Levels", "b", "site-b.html"),
                Cell("Act now", "growth found", "0", chart=icon("act_now"), state="act_now"),
                Cell("2.7%", "55 of 2,009", "0.027"),
                Cell("none"),
            ),
            "act_now",
        ),
        Line((Cell("Umber Bay", key="u"), Cell("Usual"), Cell("not known"), Cell(""))),
    ),
    "There is none.",
)
FINDING = Finding(
    ACT,
    Link("Unit 2", "unit-2.html"),
    Link(EVIL),
    ("Growth, and no clear repeat.",),
    "And 1 more like it.",
    (Link("0123456789abcdef", "finding-0123456789abcdef.html"),),
    "21 Oct 2026",
    "open for 11 days",
    "Take it out of use.",
    "Nobody yet",
    False,
    ("30 Oct 2026: rang the laboratory (user).",),
)


def _blocks() -> dict[str, str]:
    """Each macro of parts.html on one small view."""
    parts = environment.pages().get_template("parts.html").module
    facts = (Fact("2.1%", "stopped", "277 of 13,124", "measure-x.html"), Fact("3", EVIL))
    folded = Table("folded", "Folded", TABLE.columns, TABLE.lines, "", "All 2 places", True, "Find")
    empty = Table("empty", "Empty", TABLE.columns, (), "There is none.")
    section = Section(
        "part",
        "1. A part",
        EVIL,
        legend=(LegendItem(icon("usual"), "usual"),),
        figures=(Figure(Link("Unit 1", "unit-1.html"), icon("usual"), "below"),),
        notes=("A note.",),
        facts=facts,
        tables=(TABLE, folded, empty),
        links=(Link("What it means", "measure-x.html"), Link("List", "list.csv")),
        command="holdtime explain 'stopped/unit/=1+1'",
    )
    found = Findings("What needs doing", (FINDING,), (FINDING,), "1 more", "Nothing.")
    return {
        "badge": parts.badge(ACT),
        "facts": parts.facts(facts, "plain"),
        "findings-network": parts.findings(found, "network"),
        "findings-none": parts.findings(Findings("Doing", (), (), "", "Nothing."), "site"),
        "unseen": parts.unseen(Unseen("What we could not see", (EVIL, "Nothing else."))),
        "section": parts.section(section),
    }


def _charts() -> dict[str, str]:
    """The charts of test_charts.py: there is one invented set of them, not two."""
    path = Path(__file__).with_name("test_charts.py")
    spec = importlib.util.spec_from_file_location("charts", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return {f"chart-{kind}": drawn for kind, drawn in module.every_chart("Unit 1").items()}


BLOCKS = _blocks() | _charts()


@pytest.mark.parametrize("name", sorted(BLOCKS))
def test_a_block_is_as_it_was_when_somebody_last_looked(name, request):
    path = GOLDEN / f"{name.replace(' ', '-')}.html"
    # A line an element, so that a difference can be read.
    now = str(BLOCKS[name]).strip().replace("><", ">\n<") + "\n"
    if request.config.getoption("--update-golden"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(now, encoding="utf-8")
    assert path.is_file(), f"no {path.name}: run pytest --update-golden, and look at it"
    assert now == path.read_text(encoding="utf-8")


def test_no_golden_file_is_of_a_block_that_is_gone():
    assert {path.stem for path in GOLDEN.iterdir()} == {name.replace(" ", "-") for name in BLOCKS}


def test_names_stay_names_in_every_block():
    for name, text in BLOCKS.items():
        assert "<b onclick" not in str(text), name
