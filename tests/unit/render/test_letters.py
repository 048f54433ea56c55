"""Letters: the news in the subject, the same figures in both parts, small enough to be shown."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest

from pipeline.render.letters import MOST_BYTES, letters, write_letters
from pipeline.render.tables.register import SiteRow, UnitRow
from pipeline.render.tables.standing import FindingRow, StateRow
from pipeline.render.tables.tables import Tables

AS_OF = date(2026, 10, 31)


@pytest.fixture
def tables(con, group) -> Tables:
    return Tables(con, group, AS_OF)


def html_text(html: str) -> str:
    body = html.split("<body", 1)[1]
    text = re.sub(r"<[^>]+>", " ", f"<body{body}")
    for entity, sign in (("&lt;", "<"), ("&gt;", ">"), ("&#34;", '"'), ("&#39;", "'"),
                         ("&nbsp;", " "), ("&amp;", "&")):  # fmt: skip
        text = text.replace(entity, sign)
    return " ".join(text.split())


def numbers(text: str) -> list[str]:
    return re.findall(r"\d[\d,.]*", text)


def test_there_is_a_letter_for_the_group_and_one_for_each_region(con, group, tmp_path):
    names = sorted(path.name for path in write_letters(con, group, AS_OF, tmp_path))
    assert names == [
        "group.html",
        "group.txt",
        "region-outer-banks.html",
        "region-outer-banks.txt",
        "region-the-levels.html",
        "region-the-levels.txt",
    ]


def test_the_subject_carries_the_news(tables):
    assert [letter.subject for letter in letters(tables)] == [
        "October 2026, Saltmarsh <Isles> Clinics: 4 units need action, 2 spore tests overdue, "
        "1 unit sent no logs",
        'October 2026, Outer "Banks": 2 units need action, 1 spore test overdue, '
        "1 unit sent no logs",
        "October 2026, The Levels: 2 units need action, 1 spore test overdue",
    ]


def test_both_parts_carry_the_same_numbers_in_the_same_order(tables):
    for letter in letters(tables):
        assert numbers(html_text(letter.html)) == numbers(letter.text)


def test_a_region_hears_of_its_own_units_only(tables):
    _, outer, levels = letters(tables)
    assert "HYPERLINK" in outer.text and "HYPERLINK" not in levels.text
    assert "alert(1)" in levels.text and "alert(1)" not in outer.text


def test_at_most_ten_findings_stand_and_the_rest_is_a_number(tables):
    group = letters(tables)[0]
    assert len(re.findall(r"Finding [0-9a-f]{16}", group.text)) == 10
    assert re.search(r"And \d+ more; the pages have them\.", group.text)


def test_names_are_escaped_in_html_and_left_alone_in_text(tables):
    for letter in letters(tables):
        assert "<script" not in letter.html and "<b>Fenn" not in letter.html
    group = letters(tables)[0]
    assert "<script>alert(1)</script> Clinic" in group.text
    assert "&lt;script&gt;" in group.html and "&lt;" not in group.text


def test_a_letter_asks_nothing_of_the_network(tables):
    for letter in letters(tables):
        assert not re.search(r"<(img|link|script|svg)\b|url\(|@import|href=|src=", letter.html)


def test_a_letter_carries_the_cautions_and_what_was_not_seen(tables):
    for letter in letters(tables):
        for text in (letter.text, html_text(letter.html)):
            assert "A report never releases a load" in text
            assert "Missing data is never a pass." in text
            assert "All clinics on this page are invented." in text
            assert "what we could not see" in text.lower()


def test_the_first_line_of_the_text_file_is_the_subject(con, group, tmp_path):
    write_letters(con, group, AS_OF, tmp_path)
    first, blank, *_ = (tmp_path / "group.txt").read_text(encoding="utf-8").split("\n")
    assert first.startswith("Subject: October 2026, Saltmarsh") and blank == ""


def test_letters_are_the_same_bytes_when_written_again(con, group, tmp_path):
    for name in ("one", "other"):
        write_letters(con, group, AS_OF, tmp_path / name)
    one, other = (
        {path.name: path.read_bytes() for path in (tmp_path / name).iterdir()}
        for name in ("one", "other")
    )
    assert one == other


class Invented(Tables):
    """Tables of a network that was never run, with what a test asks for put in their place."""

    def __init__(self, tables: Tables, **given: object) -> None:
        self.__dict__.update(tables.__dict__)
        self.__dict__.update(given)


def test_a_quiet_month_says_so(tables):
    quiet = Invented(
        tables,
        findings=[],
        states={("unit", s): StateRow("unit", s, "usual", None, None) for s in tables.units},
        spore_due={k: replace(row, days_overdue=0) for k, row in tables.spore_due.items()},
        drifts={},
        coverage={k: replace(row, state="usual") for k, row in tables.coverage.items()},
    )
    letter = letters(quiet)[0]
    assert letter.subject == "October 2026, Saltmarsh <Isles> Clinics: nothing needs action"
    assert letter.text.startswith("Nothing needs action now. 5 of 5 ran as usual.\n")
    assert "Nothing that was seen needs a person." in letter.text
    assert "Nothing that was seen needs a person." in html_text(letter.html)


def test_a_letter_of_300_sites_with_long_names_is_not_cut_off(tables):
    """Every finding is different, every name is long, and all of it needs escaping."""
    name = "<&>" * 40
    sites = {
        f"s{n}": SiteRow(
            f"s{n}", f"{name} {n}", "R", "r", 0.0, "weekly", date(2020, 1, 1), None, None
        )
        for n in range(300)
    }
    units = {
        f"u{n}": UnitRow(f"u{n}", f"s{n}", name, "gravity", date(2020, 1, 1), None, True)
        for n in range(300)
    }
    found = [
        FindingRow(f"{n:016}", f"u{n}", f"s{n}", "silent", "act_now", AS_OF - timedelta(n),
                   name * 2, f"{name} {n}", name)
        for n in range(300)
    ]  # fmt: skip
    coverage = {
        f"u{n}": replace(tables.coverage["F-2"], unit_serial=f"u{n}", site_id=f"s{n}")
        for n in range(300)
    }
    crowded = Invented(tables, sites=sites, units=units, findings=found, coverage=coverage)
    group = letters(crowded)[0]
    assert len(group.html.encode()) < MOST_BYTES == 90_000
    assert "And 290 more; the pages have them." in group.text


def test_findings_with_one_next_step_are_one_entry_that_says_how_many(tables):
    levels = letters(tables)[2]
    assert re.search(r"Water reservoir refill: not on record.* And 2 more like it\.", levels.text)
