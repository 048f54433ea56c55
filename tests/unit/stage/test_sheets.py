"""Workbooks with several sheets, merged cells and serial days."""

import io
import zipfile

import pytest
import xlsxwriter

HEADER = ["Unit", "No", "Start"]
COLUMNS = {
    "unit_serial": "Unit",
    "cycle_number": "No",
    "started": {"source": "Start", "formats": ("serial",)},
}


def workbook(sheets, merged=()):
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream)
    for name, rows in sheets.items():
        sheet = book.add_worksheet(name)
        for y, row in enumerate(rows):
            sheet.write_row(y, 0, row)
        for area, value in merged:
            sheet.merge_range(area, value)
    book.close()
    return stream.getvalue()


MONTHS = {
    "Notes": [["nothing"]],
    "Sep": [["Unit", "No", "Start"], ["SN-1", 1, 46300.5], ["SN-1", "x", 46300.5]],
    "Empty": [],
    "Oct": [["No", "Unit", "Start"], [], ["y", "SN-1", 46301.5], [3, "SN-1", 46302.75]],
}


@pytest.fixture
def feed(make_feed):
    def made(**settings):
        return make_feed("cycle", {"kind": "spreadsheet"} | settings, COLUMNS)

    return made


@pytest.mark.parametrize("sheets", [{"sheets": ["Sep", "Oct"]}, {"sheet": "[SO]*"}])
def test_rows_are_counted_on_through_the_sheets_and_told_by_sheet(stage, feed, sheets):
    result = stage(feed(**sheets), workbook(MONTHS))
    # Sep has the lines 1 to 3, Oct 4 to 7, of which one is empty.
    assert [(line, no, str(at)) for line, no, at in result.rows(
        "cycle", "line", "cycle_number", "started_local"
    )] == [(2, 1, "2026-10-05 12:00:00"), (7, 3, "2026-10-07 18:00:00")]  # fmt: skip
    assert [told[:24] for told in result.messages] == [
        'sheet "Sep", line 3: Col',
        'sheet "Oct", line 3: Col',
    ]
    assert result.counts == (6, 2, 4)


def test_a_sheet_that_is_not_there_is_told(stage, feed):
    (reason,) = stage(feed(sheets=["Sep", "Nov"]), workbook(MONTHS)).reasons
    assert reason.startswith('The workbook has no sheet "Nov"; found: "Notes", "Sep"')


def test_a_sheet_without_the_header_is_told_by_its_name(stage, feed):
    (reason,) = stage(feed(sheets=["Sep", "Notes"]), workbook(MONTHS)).reasons
    assert reason.startswith('Sheet "Notes": The header on row 1 has no column')


def test_workbooks_in_an_archive_do_not_share_lines(stage, feed):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        package.writestr("a.xlsx", workbook({"Oct": MONTHS["Oct"]}))
        package.writestr("b.xlsx", workbook({"Oct": MONTHS["Oct"]}))
    result = stage(feed(sheet="Oct"), stream.getvalue())
    assert result.rows("cycle", "line") == [(4,), (8,)]
    assert [told.partition(" Col")[0] for told in result.messages] == [
        '"a.xlsx", line 3:',
        '"b.xlsx", line 3:',
    ]


def test_the_value_of_merged_cells_counts_for_each_of_them_where_declared(stage, feed):
    rows = [HEADER, *([None, i, 46300.5] for i in (1, 2, 3))]
    data = workbook({"A": rows}, [("A2:A3", "SN-1"), ("A4:A400", "SN-2")])
    expected = [(2, "SN-1"), (3, "SN-1"), (4, "SN-2")]
    filled = stage(feed(merged="fill", skip="^SN-2$"), data)
    assert filled.rows("cycle", "line", "unit_serial") == expected


def test_merged_cells_are_not_filled_unless_declared(stage, feed):
    rows = [HEADER, *([None, i, 46300.5] for i in (1, 2))]
    data = workbook({"A": rows}, [("A2:A3", "SN-1")])
    assert stage(feed(), data).rows("cycle", "unit_serial") == [("SN-1",), (None,)]


def test_totals_of_a_sheet_are_layout_where_declared(stage, feed):
    rows = [HEADER, ["SN-1", 1, 46300.5], ["Total", 1]]
    result = stage(feed(skip="^Total"), workbook({"A": rows}))
    assert (result.counts, result.held) == ((3, 2, 1), [])
