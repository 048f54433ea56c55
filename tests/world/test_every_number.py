"""Every number on every page is vouched for: by the measures, the tables beneath, or a declaration.

Pages are read as text. What phrases and other declarations say themselves is struck; of the rest
each number must be known of the very unit, site or region of its row or page, from the sources of
its place on the page; in a table whose rows say what they are of, from that row and column. A
number that nothing vouches for is found, and so is a place without a rule.
"""

import re

import pytest
from python_calamine import CalamineWorkbook

from pipeline.base.phrases import known, phrase
from tests.world.crawl import HEAD, STOPS, WITHOUT, Crawl
from tests.world.page_text import Block

LETTER = (
    f"{HEAD} {STOPS} held_total judged orphan days late every_ranking@network finding@network "
    "reviewed balance month"
)
SENTENCES = "finding urgent unit state spore_due coverage"


@pytest.fixture(scope="module")
def crawl(ran) -> Crawl:
    return Crawl(ran[0])


def test_every_number_on_every_page_is_vouched_for(crawl):
    found: dict[str, tuple] = {}
    checked = 0
    for page, block in crawl.blocks:
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
    return f"{int(digits) * 99_991 + 99_613}{end}"


def test_a_number_that_nothing_knows_is_found_wherever_it_stands(crawl):
    """One block of each kind of place, with the last of its numbers changed into another."""
    seen, missed = set(), []
    for page, block in crawl.blocks:
        place = crawl.place(page, block)
        if place in seen or any(re.match(pattern, place) for pattern in WITHOUT):
            continue
        seen.add(place)
        number = other(crawl.left(block)[-1])
        if number not in crawl.unvouched(page, block._replace(text=f"{block.text} {number}")):
            missed.append((place, number))
    assert missed == [] and len(seen) > 150


def beside(number: str) -> str:
    """The number with another last digit, of a day another day of its month."""
    if day := re.fullmatch(r"(\d+)( [A-Z][a-z]+ \d{4})", number):
        return f"{int(day[1]) % 28 + 1}{day[2]}"
    last = [one.start() for one in re.finditer(r"\d", number)][-1]
    return f"{number[:last]}{(int(number[last]) + 1) % 10}{number[last + 1 :]}"


def test_of_numbers_with_another_last_digit_most_are_found(crawl):
    """A sum, or the very next line of a log, may well be known of another thing in its place."""
    found = total = 0
    for page, block in crawl.blocks[::5]:
        if any(re.match(pattern, crawl.place(page, block)) for pattern in WITHOUT):
            continue
        number = beside(crawl.left(block)[-1])
        total += 1
        found += number not in crawl.known_at(page, block)
    assert total > 2000
    assert found / total >= 0.85


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


def test_every_figure_and_day_in_the_workbook_is_that_of_its_row(crawl):
    book = CalamineWorkbook.from_path(crawl.pages / "holdtime.xlsx")
    checked = 0
    for name, (columns, rows) in crawl.sheets.items():
        titles = [phrase(f"workbook.column.{column}") for column in columns]
        # The columns that name a row come first.
        keys = titles[: 2 if name in ("tests", "tasks") else 1]
        place = columns.index("task") if "task" in columns else -1
        expected = {}
        for row in rows:
            told = [known("task", one) if at == place else one for at, one in enumerate(row)]
            expected[tuple(told[: len(keys)])] = dict(zip(titles, told, strict=True))
        head, *lines = book.get_sheet_by_name(phrase(f"workbook.sheet.{name}")).to_python()
        for line in lines:
            shown = dict(zip(head, line, strict=True))
            of_row = expected.pop(tuple(shown[key] for key in keys))
            for title, cell in shown.items():
                if title in of_row:
                    value = of_row[title]
                    assert cell == (
                        ""
                        if value is None
                        else pytest.approx(value, rel=1e-12)
                        if isinstance(value, float)
                        else value
                    ), (name, line, title)
                    checked += 1
                else:
                    assert isinstance(cell, str), (name, title)
        assert expected == {} and lines
    assert checked > 1500


def test_every_number_in_a_sentence_of_the_workbook_is_one_that_the_tables_know(crawl):
    book = CalamineWorkbook.from_path(crawl.pages / "holdtime.xlsx")
    checked = 0
    for name, level, key in (("findings", "unit", "unit_serial"), ("units", "unit", "unit_serial"),
                             ("sites", "site", "site_id")):  # fmt: skip
        head, *lines = book.get_sheet_by_name(phrase(f"workbook.sheet.{name}")).to_python()
        told = [phrase(f"workbook.column.{one}") for one in ("why", "next_step", "reason")]
        for line in lines:
            shown = dict(zip(head, line, strict=True))
            subject = shown[phrase(f"workbook.column.{key}")]
            # A finding of a whole site names no unit.
            whose = (level, subject) if subject else ("network", "network")
            for text in (shown[title] for title in told if title in shown):
                assert crawl.unknown(text, SENTENCES, *whose) == [], (name, text)
                assert "99613" in crawl.unknown(f"{text} 99,613", SENTENCES, *whose)
                checked += bool(crawl.left(Block("", "", "", text)))
    assert checked > 100
    notes = book.get_sheet_by_name(phrase("workbook.sheet.notes")).to_python()
    numbers = [one for (text,) in notes for one in crawl.left(Block("", "", "", text))]
    assert numbers == ["31 Oct 2026"]
