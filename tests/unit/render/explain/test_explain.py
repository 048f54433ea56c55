"""Every figure can be followed to the lines that it is made of, and these add up to it."""

import csv
import io

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.measure.catalogue import load_measures
from pipeline.measure.findings.finding import KINDS
from pipeline.render.explain.behind import FigureId, behind_figure, told_of
from pipeline.render.explain.text import MOST_LINES, Explanation
from pipeline.render.tables.tables import Tables
from tests.unit.render.conftest import AS_OF, network


@pytest.fixture(scope="module")
def tables(con) -> Tables:
    return Tables(con, network(), AS_OF)


def test_every_measure_and_every_kind_of_finding_says_what_stands_behind_it():
    assert set(told_of("measures")) == {one.measure for one in load_measures()}
    assert set(told_of("findings")) == set(KINDS)


def test_the_things_behind_each_figure_are_its_x_and_its_n(con, tables):
    days = {"as_of": AS_OF, "from_on": tables.from_on, "to_on": tables.to_on}
    seen = 0
    for (measure, level, subject_id), row in tables.rankings.items():
        lines = behind_figure(con, days, FigureId(measure, level, subject_id))
        counted = {one.thing for one in lines if one.is_counted}
        assert (len(counted), len({one.thing for one in lines})) == (row.numerator, row.denominator)
        seen += row.numerator > 0
    assert seen > 10


def test_lines_name_the_file_and_the_line_that_tell_of_them(con, tables):
    explained = Explanation(con, tables, "stopped_all/unit/S-1")
    for one in explained.lines:
        found = con.execute(
            """
            SELECT staged.cycle_number
            FROM stage.cycle AS staged
            JOIN stage.file AS file USING (file_id)
            WHERE file.path = ? AND file.content_sha = ? AND staged.line = ?
            """,
            [one.path, one.content_sha, one.line],
        ).fetchall()
        assert [str(number) for (number,) in found] == [one.thing.split("-")[2]]


def test_a_figure_is_told_with_its_rule_its_source_and_the_cautions(con, tables):
    text = Explanation(con, tables, "stopped_equipment/unit/S-1").text()
    row = tables.rankings["stopped_equipment", "unit", "S-1"]
    assert f"{row.numerator:,} of {row.denominator:,}" in text
    assert "Source: " in text and "never a pass" in text
    assert text.count("\n* ") + text.count("\n  ") <= MOST_LINES + 2


def test_every_finding_is_told_with_its_lines(con, tables):
    with_lines = 0
    for one in tables.findings:
        explained = Explanation(con, tables, one.finding_id)
        assert one.next_step in explained.text()
        with_lines += any(line.is_counted for line in explained.lines)
    assert with_lines >= 3


def test_the_list_for_a_spreadsheet_has_every_line(con, tables):
    explained = Explanation(con, tables, "stopped_all/network")
    rows = list(csv.DictReader(io.StringIO(explained.csv().decode("utf-8-sig"), newline="")))
    assert len(rows) == len(explained.lines) > MOST_LINES
    assert f"and {len(rows) - MOST_LINES:,} more" in explained.text()
    assert len(explained.text(is_whole=True).splitlines()) > len(rows)


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("stoped_all/unit/S-1", 'Did you mean "stopped_all"'),
        ("stopped_all", "has no level"),
        ("stopped_all/unt/S-1", 'Did you mean "unit"'),
        ("stopped_all/unit/none", 'no unit "none"'),
        ("0123456789abcdef", "is no finding and no measure"),
    ],
)
def test_a_name_of_nothing_is_told_how_to_be_written(con, tables, name, told):
    with pytest.raises(ConfigurationError, match=told):
        Explanation(con, tables, name)
