"""Columns of a pack are given their widths, so that no text makes a table wider than its page."""

import re

import pytest

from pipeline.render.pack.widths import ACROSS, LEAST, MOST, SHORT, widths
from pipeline.render.views import Table
from tests.unit.render.pack.conftest import table


def shares(one: Table) -> list[int]:
    """Of the width of a page, in hundredths."""
    found = widths(one)
    return [100 * width // sum(found) for width in found]


def test_a_longer_text_gets_a_wider_column_up_to_a_bound():
    assert shares(table("a" * 10, "a" * 30)) == [25, 75]
    assert shares(table("a" * MOST, "a" * 500)) == [50, 50]
    assert shares(table("", "a" * (3 * LEAST))) == [25, 75]


def test_a_word_of_a_heading_is_not_broken():
    one = shares(table("1", "a" * 36, titles=("Temperature", "C")))
    assert one[0] > shares(table("1", "a" * 36))[0]


def test_short_columns_keep_their_width_where_the_page_is_too_narrow():
    """Four long columns ask for 144 letters, more than there are; the day needs its eleven."""
    found = shares(table("31 Oct 2026", *["a" * 200] * 4))
    assert found[0] == 100 * 11 // (11 + 4 * int(36 * (ACROSS - 11) / 144))
    assert len(set(found[1:])) == 1 and 4 * MOST + 11 > ACROSS > 4 * SHORT


@pytest.mark.parametrize("count", range(1, 13))
def test_the_columns_of_a_table_are_never_wider_than_the_page_together(count):
    for length in (1, 9, 20, 64):
        found = shares(table(*["a" * length] * count))
        assert sum(found) <= 100 and min(found) >= 1


def test_a_word_without_end_stays_on_the_page_and_is_read_back_whole(read_back):
    word = "0123456789abcdef" * 25
    page = read_back(logs=table(word, word, word)).pages[-2]
    starts = []

    def visit(text, matrix, text_matrix, font, size):
        if text.strip():
            starts.append((matrix[4] + text_matrix[4], len(text.strip())))

    text = page.extract_text(visitor_text=visit)
    right = float(page.mediabox.width)
    # A letter of this size is at least 4 pt wide.
    assert all(start > 0 and start + 4 * length < right for start, length in starts)
    assert "".join(text.split()).count(word) == 3


def test_a_word_is_broken_where_it_may_be_before_it_is_broken_anywhere(read_back):
    path = "logs/heron-staithe/tasks-2026-08-to-2026-10.csv, line 134"
    text = read_back(logs=table(*[path] * 5)).pages[-2].extract_text()
    assert not re.search(r"lo\ngs|her\non|tas\nks|20\n26", text) and "heron-" in text
