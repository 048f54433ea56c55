"""How a book of tasks that looks filled in afterwards is told of."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from pipeline.render.parts.task_book import book_notes
from pipeline.render.tables.routine import TaskBookRow

UNIT = SimpleNamespace(unit_serial="U1")
ROW = TaskBookRow(
    "U1", 40, 4, 5, 30, 20, 7, 36, 12, 2,
    is_same_counter=False, is_round=False, is_closed=False, is_early=False, is_twice=False,
)  # fmt: skip
SENTENCES = [
    ("is_same_counter", "7 of 30 counters are those of an earlier day"),
    ("is_round", "20 of 30 counters end in 0"),
    ("is_closed", "5 of 40 acts are dated on days on which the unit was closed"),
    ("is_early", "12 of 36 intervals ended before a quarter of what is allowed was used, on 2 "),
    ("is_twice", "4 of 40 acts were written down more than once"),
]


@pytest.mark.parametrize(("flag", "sentence"), SENTENCES)
def test_each_oddity_is_told_with_its_counts_and_no_other(flag, sentence):
    tables = SimpleNamespace(task_books={"U1": replace(ROW, **{flag: True})})

    (note,) = book_notes(tables, UNIT)

    assert note.startswith("Some entries of the book look as if they were made afterwards.")
    assert "nothing of who made them or why" in note
    assert sentence in note
    others = {told for _, told in SENTENCES} - {sentence}
    assert not any(other in note for other in others)


def test_a_book_without_oddities_is_not_told_of():
    assert book_notes(SimpleNamespace(task_books={}), UNIT) == ()
