"""Pages of findings and measures, and the words used: whole, and as the command explain has it."""

import re
from datetime import date

import pytest

from pipeline.base.period import Month
from pipeline.base.phrases import listed, words
from pipeline.measure.catalogue import load_measures
from pipeline.render.explain.behind import behind_finding
from pipeline.render.explain.findings import MOST_LINES, behind_findings
from pipeline.render.parts.frame import frame
from pipeline.render.paths import finding_page, measure_page
from pipeline.render.scope import STATES, network_scope
from pipeline.render.tables.tables import Tables
from pipeline.render.words import count, day, printable

AS_OF = date(2026, 10, 31)


@pytest.fixture(scope="module")
def tables(con, group) -> Tables:
    return Tables(con, group, AS_OF)


@pytest.fixture(scope="module")
def days(tables):
    return {"as_of": tables.as_of, "from_on": tables.from_on, "to_on": tables.to_on}


@pytest.fixture(scope="module")
def behind(con, days):
    return behind_findings(con, days)


def test_every_finding_has_a_page_that_says_why_since_when_and_what_to_do(tables, read):
    assert len(tables.findings) > 10
    for row in tables.findings:
        text = read[finding_page(row.finding_id)].text
        for words_of in (row.finding_id, row.why, row.next_step, day(row.since_on)):
            assert " ".join(printable(words_of).split()) in text, row
        assert f"holdtime explain {row.finding_id}" in text


def test_a_finding_that_rests_on_what_is_not_there_counts_no_lines(tables, read, behind):
    lines = {row.finding_id: behind.get(row.finding_id, []) for row in tables.findings}
    logged = {id_: any(one.line.path for one in found) for id_, found in lines.items()}
    assert set(logged.values()) == {True, False}
    for finding_id, is_logged in logged.items():
        said = "No line of a log tells of it" in read[finding_page(finding_id)].text
        assert said != is_logged, finding_id


def test_lines_of_all_findings_at_once_are_those_of_each(con, days, tables, behind):
    """The page and the command answer from two statements, which must agree."""
    assert sum(len(lines) for lines in behind.values()) > 50
    for row in tables.findings:
        ((task,),) = con.execute(
            "SELECT task FROM measure.finding WHERE finding_id = ?", [row.finding_id]
        ).fetchall()
        counted = [line for line in behind_finding(con, days, row, task) if line.is_counted]
        found = behind.get(row.finding_id, [])
        assert [one.line for one in found] == counted[:MOST_LINES], row
        assert {one.counted_count for one in found} <= {len(counted)}


def test_the_stops_that_a_sentence_counts_are_those_whose_lines_stand_behind_it(tables, behind):
    told = [row for row in tables.findings if row.kind in ("stops_recent", "stops_year")]
    assert any(row.kind == "stops_recent" for row in told)
    for row in told:
        said = re.match(r"Stopped ([\d,]+) of [\d,]+ cycles", row.why)
        assert said, row.why
        assert behind[row.finding_id][0].counted_count == int(said[1].replace(",", "")), row


def test_no_page_of_a_finding_shows_more_lines_than_a_reader_reads(tables, behind, pages):
    long = [name for name, lines in behind.items() if lines[0].counted_count > MOST_LINES]
    assert long
    for name in long:
        text = pages[finding_page(name)]
        assert text.count("<tr") < MOST_LINES + 10
        assert f"The latest {count(MOST_LINES)} are shown" in text


def test_a_finding_is_led_to_from_its_unit_and_leads_back(tables, read):
    for row in tables.findings:
        page = finding_page(row.finding_id)
        leading = [name for name, one in read.items() if page in one.links()]
        unit = tables.units.get(row.unit_serial or "")
        assert leading, row
        if unit:
            assert any(name.startswith("unit-") for name in read[page].links())


def test_every_measure_has_a_page_with_its_limits(read):
    for one in load_measures():
        text = read[measure_page(one.measure)].text
        for limit in (*listed(f"measure_limits.{one.measure}"), *listed("measure_page.limits")):
            assert " ".join(limit.split()) in text, one.measure
        assert " ".join(one.why.split()) in text
        assert f"holdtime explain {one.measure}/network" in text
        assert measure_page(one.measure) in read["method.html"].links()


def test_the_words_used_hold_every_state_and_no_empty_meaning(read):
    text = read["glossary.html"].text
    assert set(words()["glossary"]["state"]) == set(STATES)
    for term in words()["glossary"]["term"]:
        assert term["word"] in text and term["meaning"] in text and term["meaning"].endswith(".")


@pytest.mark.parametrize(
    ("editions", "expected"),
    [
        ((), []),
        (("2026-10",), []),
        (("2026-07", "2026-09"), [("earlier: September 2026", "../2026-09/index.html")]),
        (("2026-12", "2027-01"), [("later: December 2026", "../2026-12/index.html")]),
    ],
)
def test_pages_lead_to_the_nearest_months_that_are_there(con, group, editions, expected):
    tables = Tables(con, group, AS_OF, tuple(map(Month.parse, editions)))
    found = frame(network_scope(tables), "here").months
    assert [(one.text, one.href) for one in found] == expected
