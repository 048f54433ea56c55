"""Columns of a pack are given their widths, so that no text makes a table wider than its page."""

import io
import re

import pytest
from pypdf import PdfReader

from pipeline.render.pack.pack import pdf
from pipeline.render.pack.widths import ACROSS, LEAST, MOST, SHORT, colgroup, rules
from pipeline.render.views import Cell, Column, Line, Table


def table(*texts: str, titles: tuple[str, ...] = ()) -> Table:
    columns = tuple(Column(title) for title in titles or ["C"] * len(texts))
    return Table("t", "T", columns, (Line(tuple(Cell(text) for text in texts)),), "")


def shares(one: Table) -> list[int]:
    return [int(share) for share in re.findall(r'<col class="w(\d+)">', colgroup(one))]


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


def test_each_share_has_a_rule():
    assert re.findall(r"\.w(\d+) \{ width: (\d+)%; \}", rules()) == [
        (str(share), str(share)) for share in range(1, 101)
    ]


def test_a_word_without_end_stays_on_the_page():
    """Read back: the word is broken, and no part of it stands right of the margin."""
    cells = "".join(f"<td>{'x' * 400}</td>" for _ in range(3))
    inside = f"{colgroup(table('a', 'b', 'c'))}<tr>{cells}</tr>"
    html = f"<html lang=en><title>t</title><table>{inside}</table>"
    starts = []

    def visit(text, matrix, text_matrix, font, size):
        if text.strip():
            starts.append((matrix[4] + text_matrix[4], len(text.strip())))

    PdfReader(io.BytesIO(pdf(html, "a"))).pages[0].extract_text(visitor_text=visit)
    assert len(starts) > 3 and max(length for _, length in starts) < 60
