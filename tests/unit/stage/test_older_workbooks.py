"""XLS and ODS: the XLS were written once with the library xlwt 1.3.0, in both systems of dates."""

import io
import zipfile
from datetime import datetime
from pathlib import Path

import pytest

WORKBOOKS = Path(__file__).with_name("workbooks")
COLUMNS = {
    "unit_serial": "Unit",
    "cycle_number": "No",
    "started": {"source": "Start", "formats": ("%d.%m.%Y %H:%M",)},
    "hold_min_celsius": "Tmin",
}
ROW = ("SN-1", 17, datetime(2026, 3, 31, 14, 30), 134.5)
TARGETS = ("unit_serial", "cycle_number", "started_local", "hold_min_celsius")


@pytest.mark.parametrize("name", ["1900.xls", "1904.xls"])
def test_an_xls_is_read_in_the_system_of_dates_that_it_has(stage, make_feed, name):
    feed = make_feed("cycle", {"kind": "spreadsheet", "sheet": "Cycles"}, COLUMNS)
    assert stage(feed, (WORKBOOKS / name).read_bytes()).rows("cycle", *TARGETS) == [ROW]


OASIS = "urn:oasis:names:tc:opendocument:xmlns"
CELL = "<table:table-cell {}><text:p>{}</text:p></table:table-cell>"
STRING, FLOAT, DATE = (f'office:value-type="{one}"' for one in ("string", "float", "date"))


def ods(*rows: str) -> bytes:
    """A workbook of one sheet. Source: OASIS OpenDocument 1.3, part 3, section 9."""
    names = "".join(f' xmlns:{one}="{OASIS}:{one}:1.0"' for one in ("office", "table", "text"))
    body = "".join(f"<table:table-row>{row}</table:table-row>" for row in rows)
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        package.writestr("mimetype", kind)
        package.writestr(
            "META-INF/manifest.xml",
            f'<manifest:manifest xmlns:manifest="{OASIS}:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
            "</manifest:manifest>",
        )
        package.writestr(
            "content.xml",
            f'<?xml version="1.0"?><office:document-content{names}><office:body>'
            f'<office:spreadsheet><table:table table:name="Cycles">{body}</table:table>'
            "</office:spreadsheet></office:body></office:document-content>",
        )
    return stream.getvalue()


def test_an_open_document_sheet_is_read(stage, make_feed):
    header = "".join(CELL.format(STRING, name) for name in ("Unit", "No", "Start", "Tmin"))
    cells = [
        (STRING, "SN-1"),
        (f'{FLOAT} office:value="17"', "17"),
        (f'{DATE} office:date-value="2026-03-31T14:30:00"', "31.03.26"),
        (STRING, "134,5"),
    ]
    data = ods(header, "".join(CELL.format(*one) for one in cells))
    feed = make_feed("cycle", {"kind": "spreadsheet", "decimal": ","}, COLUMNS)
    assert stage(feed, data).rows("cycle", *TARGETS) == [ROW]
