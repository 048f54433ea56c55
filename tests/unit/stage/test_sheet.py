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
        (b"", "The file is no readable workbook: it is empty (0 bytes)."),
        (b"PK\x03\x04 and no more", "The file is no readable workbook: Cannot detect file format."),
        (b"Unit;No\n", "The file is no readable workbook: Cannot detect file format."),
        (workbook(("Cycles", [])), "The sheet is empty."),
        (
            workbook(("Cycles", [["x"]])),
            "The header is declared to be on row 3, but the sheet ends after 1",
        ),
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


def repacked(data: bytes, member: str, old: bytes, new: bytes) -> bytes:
    """The workbook with some bytes of one of its members replaced."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(stream, "w") as target:
        for name in source.namelist():
            content = source.read(name)
            if name == member:
                assert old in content
                content = content.replace(old, new)
            target.writestr(name, content)
    return stream.getvalue()


GOOD = workbook(("Cycles", [[], [], HEADER, [17, "SN-1", START, 134.0, None, None]]))
STRINGS = "xl/sharedStrings.xml"
SHEET = "xl/worksheets/sheet1.xml"


# Each of these asks the library for more memory than there is, which ends its process.
@pytest.mark.parametrize(
    "crafted",
    [
        repacked(GOOD, STRINGS, b'uniqueCount="', b'uniqueCount="99999999999'),
        repacked(GOOD, SHEET, b'r="F3"', b'r="XFD1048576"'),
    ],
    ids=["a count of texts", "a far corner"],
)
def test_a_workbook_that_breaks_its_reader_harms_no_other(stage, feed, crafted):
    result = stage(feed(sheet="Cycles"), GOOD, crafted, GOOD + b" ")
    assert [one and one[:60] for one in result.reasons] == [
        None,
        "The workbook takes more memory or time than a log needs, or ",
        None,
    ]
    assert result.summary.staged_count == 2
