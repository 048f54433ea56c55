import io
import zipfile
from datetime import date, datetime, time, timedelta

import pytest
import xlsxwriter

COLUMNS = {
    "unit_serial": "Unit",
    "cycle_number": "No",
    "started": {"source": "Start", "formats": ("%d.%m.%Y %H:%M",)},
    "hold_min_celsius": "Tmin",
    "drying_seconds": {"source": "Dry", "unit": "mm:ss"},
    "note": {"source": "Note", "is_optional": True},
}
HEADER = ["No", "Unit", "Start", "Tmin", "Dry", "Note"]
START = datetime(2026, 3, 31, 14, 30)


def workbook(*sheets: tuple[str, list[list[object]]]) -> bytes:
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream)
    formats = {
        datetime: book.add_format({"num_format": "dd.mm.yyyy hh:mm"}),
        date: book.add_format({"num_format": "dd.mm.yyyy"}),
        time: book.add_format({"num_format": "hh:mm:ss"}),
        timedelta: book.add_format({"num_format": "[h]:mm:ss"}),
    }
    for name, rows in sheets:
        sheet = book.add_worksheet(name)
        for y, row in enumerate(rows):
            for x, cell in enumerate(row):
                if cell is not None:
                    sheet.write(y, x, cell, formats.get(type(cell)))
    book.close()
    return stream.getvalue()


@pytest.fixture
def feed(make_feed):
    def made(**settings):
        return make_feed("cycle", {"kind": "spreadsheet", "header_line": 3} | settings, COLUMNS)

    return made


def test_cells_become_text_that_the_mapping_reads(stage, feed):
    data = workbook(
        (
            "Cycles",
            [
                ["Saltmarsh Isles Clinics"],
                [],
                HEADER,
                [17, "SN-1", START, 134.25, time(0, 12, 30), True],
                [],
                [18.0, 5, "31.03.2026 15:30", "134.5", timedelta(minutes=75, seconds=5), 0.1],
                HEADER,
                [19, "SN-3", "2026-03-31 16:30", None, None, date(2026, 5, 1)],
            ],
        )
    )
    result = stage(feed(), data)
    assert result.rows(
        "cycle", "line", "cycle_number", "unit_serial", "started_local", "hold_min_celsius",
        "drying_seconds", "note",
    ) == [
        (4, 17, "SN-1", START, 134.25, 750.0, "true"),
        (6, 18, "5", datetime(2026, 3, 31, 15, 30), 134.5, 4505.0, "0.1"),
        (8, 19, "SN-3", datetime(2026, 3, 31, 16, 30), None, None, "2026-05-01"),
    ]  # fmt: skip
    assert result.counts == (6, 3, 3)


def test_the_named_sheet_is_read(stage, feed):
    rows = [[], [], HEADER, [17, "SN-1", START, 134.0, None, None]]
    data = workbook(("Notes", [["nothing here"]]), ("Cycles", rows))
    assert stage(feed(sheet="Cycles"), data).rows("cycle", "line") == [(4,)]


def test_numbers_are_numbers_also_where_text_has_a_decimal_comma(stage, feed):
    rows = [[], [], HEADER, [17, "SN-1", START, 134.25, None], [18, "SN-1", START, "134,25", None]]
    result = stage(feed(decimal=","), workbook(("Cycles", rows)))
    assert result.rows("cycle", "hold_min_celsius") == [(134.25,), (134.25,)]


def test_every_minute_of_a_day_comes_back_from_its_fraction_of_a_day(stage, make_feed):
    starts = [START + timedelta(seconds=61 * i) for i in range(1500)]
    data = workbook(("A", [["s"], *([start] for start in starts)]))
    feed = make_feed("cycle", {"kind": "spreadsheet"}, {"started": "s"})
    assert stage(feed, data).rows("cycle", "started_local") == [(start,) for start in starts]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "The file is empty (0 bytes)."),
        (b"PK\x03\x04 and no more", "The workbook is damaged: File is not a zip file."),
        (b"Unit;No\n", "The file is no readable workbook: Cannot detect file format."),
        (workbook(("Cycles", [])), "The sheet is empty."),
        (workbook(("Cycles", [["x"]])), "The sheet has 1 rows, but its header is declared"),
        (workbook(("Tests", [["x"]])), 'The workbook has no sheet "Cycles"; found: "Tests".'),
        (
            workbook(("Cycles", [[], [], ["No", "Unit"]])),
            'The header on row 3 has no column "Start"; found: "No", "Unit".',
        ),
    ],
)
def test_a_workbook_that_cannot_be_read_is_set_aside_with_a_sentence(stage, feed, data, told):
    (reason,) = stage(feed(sheet="Cycles"), data).reasons
    assert reason.startswith(told)


def test_a_sheet_with_one_cell_at_its_far_corner_is_refused(stage, feed):
    rows: list[list[object]] = [[] for _ in range(100_000)]
    rows[99_999] = [None] * 500 + [1]
    (reason,) = stage(feed(), workbook(("Cycles", rows))).reasons
    assert reason.startswith("A sheet reaches to row 100,000 and column 501; that is more than")


def test_an_open_document_sheet_with_a_far_corner_is_refused(stage, feed):
    cell = '<table:table-cell office:value="1"/>'
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        package.writestr(
            "content.xml",
            '<table:table><table:table-row table:number-rows-repeated="1000000"/><table:table-row>'
            f'<table:table-cell table:number-columns-repeated="16000"/>{cell}'
            "</table:table-row></table:table>",
        )
    (reason,) = stage(feed(), stream.getvalue()).reasons
    assert reason.startswith("A sheet reaches to row 1,000,001 and column 16,002; that is more")


def test_a_workbook_that_unpacks_without_end_is_refused(stage, feed, monkeypatch):
    monkeypatch.setattr("pipeline.stage.extent.MOST_BYTES", 1_000_000)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("xl/worksheets/sheet1.xml", b" " * 1_000_001)
    (reason,) = stage(feed(), stream.getvalue()).reasons
    assert reason.startswith("The workbook unpacks to 1,000,001 bytes, more than 1,000,000.")
