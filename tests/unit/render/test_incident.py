"""The pages of growths, open and cleared, and the list beside each."""

import csv
import io
import re
from datetime import date
from types import SimpleNamespace

import pytest

from pipeline.render.parts.incident import steps_section
from pipeline.render.tables.spore import IncidentStepRow

DAY = date(2026, 5, 21)


def the_page(read, verdict="no valid negative has been exposed since"):
    (name,) = [
        name for name, page in read.items() if name.startswith("incident-") and verdict in page.text
    ]
    return name, read[name]


def test_an_open_growth_has_a_page_to_which_the_page_of_its_unit_leads(read):
    name, _ = the_page(read)
    (unit,) = [page for page in read.values() if "Growth in 12 months" in page.text]

    assert name in unit.links()


def test_a_growth_that_was_cleared_keeps_its_page_with_its_steps_and_loads(read):
    name, page = the_page(read, "the test exposed on 18 May 2026 was clear")
    (unit,) = [page for page in read.values() if "Growth in 12 months" in page.text]

    assert name in unit.links()
    assert "growth of 11 May 2026" in page.text
    assert "Look into" in page.text  # steps of it are not on record
    assert "Loads in doubt" in page.text


def test_the_page_says_what_is_asked_what_is_missing_and_who_decides(read):
    text = the_page(read)[1].text

    assert "growth of" in text
    assert "take the unit out of service (on the first growth)" in text
    assert re.search(r"repeat at once with the same cycle .*? not on record", text)
    assert "recall what went through since the last valid negative (when a repeat grew too)" in text
    assert "the authorities decide about recalls and about telling patients" in text


def test_the_list_beside_it_holds_the_same_loads_as_the_page(read, folder):
    name, page = the_page(read)
    rows = list(
        csv.DictReader(
            io.StringIO((folder / name.replace(".html", ".csv")).read_text(encoding="utf-8-sig"))
        )
    )

    assert name.replace(".html", ".csv") in page.links()
    assert rows
    assert all(row["load_id"] in page.text for row in rows)
    assert {row["unit_serial"] for row in rows} == {"F/1"}


def test_what_nobody_asked_for_so_far_is_told_with_its_day_and_as_such():
    row = IncidentStepRow("g", "recall_since_last_negative", "repeat", None, None, "not_needed",
                          DAY, None, "f.csv", "0" * 64, 3, "s", "T")  # fmt: skip
    tables = SimpleNamespace(incident_steps={"g": [row]})
    (line,) = steps_section(tables, SimpleNamespace(incident_id="g"), 1).tables[0].lines
    assert line.cells[1].text == "not asked for so far"
    assert line.cells[1].below == "on record: 21 May 2026"


@pytest.mark.parametrize(
    ("step", "state", "line", "proof"),
    [
        ("out_of_service", "done", None, "no load cycle was run"),
        ("out_of_service", "waiting", None, "no line"),  # nothing was heard of the unit
        ("out_of_service", "missing", 7, "f.csv, line 7"),
        ("review", "missing", None, "no line"),
    ],
)
def test_that_a_unit_stood_still_is_shown_by_what_is_in_no_line(step, state, line, proof):
    done_on = DAY if state == "done" else None
    path, sha = ("f.csv", "0" * 64) if line else (None, None)
    row = IncidentStepRow(
        "g", step, "first", None, DAY, state, done_on, 0, path, sha, line, "s", "T"
    )
    tables = SimpleNamespace(incident_steps={"g": [row]})
    ((_, happened, _, told, _),) = (
        one.cells
        for one in steps_section(tables, SimpleNamespace(incident_id="g"), 1).tables[0].lines
    )
    assert told.text == proof
    assert happened.below == ("21 May 2026" if done_on else "")
