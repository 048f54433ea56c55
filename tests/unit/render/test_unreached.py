"""The section of the data page about letters that did not arrive."""

from dataclasses import replace
from datetime import date

import pytest

from pipeline.config.recipients import Recipient
from pipeline.render.parts.unreached import MOST_LINES, masked, unreached_section
from pipeline.render.scope import network_scope
from pipeline.render.tables.months import UnreachedRow
from pipeline.render.tables.tables import Tables
from pipeline.render.view_data import data_view

AS_OF, TOLD_ON = date(2026, 10, 31), date(2026, 11, 9)


class Invented(Tables):
    """Tables with what a test asks for put in their place."""

    def __init__(self, tables: Tables, **given: object) -> None:
        self.__dict__.update(tables.__dict__)
        self.__dict__.update(given)


@pytest.fixture
def section(con, group):
    def made(*rows: UnreachedRow):
        return unreached_section(network_scope(Invented(Tables(con, group, AS_OF),
                                                        unreached=list(rows))))  # fmt: skip

    return made


ROWS = [
    # what the ledger has of it                            about                 letter of
    (("2026-10", "network", "network"), "Saltmarsh <Isles> Clinics", "October 2026"),
    (("2026-10", "region", "the-levels"), "The Levels", "October 2026"),
    (("2026-11-02", "site", "script"), "<script>alert(1)</script> Clinic", "2026-11-02"),
    ((None, None, None), "not known", "not known"),
]


@pytest.mark.parametrize(("known", "about", "letter_of"), ROWS)
def test_a_row_says_who_what_and_when_without_the_whole_address(section, known, about, letter_of):
    made = section(UnreachedRow(*known, "fenn.j@saltmarsh.example", "failed", TOLD_ON))
    (line,) = made.tables[0].lines
    assert [cell.text for cell in line.cells] == [
        "f…@saltmarsh.example",
        about,
        letter_of,
        "given back",
        "9 Nov 2026",
    ]
    assert made.lead == "1 letter did not reach its reader."


def test_none_is_said_in_words_and_many_are_a_number(section):
    assert section().lead.startswith("No server refused a letter")
    row = UnreachedRow("2026-10", "network", "network", "a@b.example", "refused", TOLD_ON)
    made = section(*[row] * (MOST_LINES + 9))
    assert len(made.tables[0].lines) == MOST_LINES and made.lead.startswith("59 letters")


def test_what_looks_like_no_address_shows_no_more_of_it():
    assert masked("x") == "…@x"
    assert masked("") != ""


def test_the_data_page_tells_of_letters_only_where_there_are_readers(con, group):
    reader = Recipient("a@b.example", "group", "", "Europe/London")
    for readers, is_there in (((), False), ((reader,), True)):
        tables = Invented(Tables(con, group, AS_OF), unreached=[],
                          network=replace(group, recipients=readers))  # fmt: skip
        uids = [one.uid for one in data_view(network_scope(tables)).sections]
        assert ("letters-lost" in uids) == is_there
