"""Bytes and the shape that they have."""

import io
import json

import polars as pl
import pytest
import xlsxwriter

from pipeline.sniff.shape import shape_of

HEADER = ["Serial", "No", "Program", "Start", "Tmin"]
ROWS = [["A-1", "7", "wrapped", "2026-05-01 08:00", "134,2"]] * 4


@pytest.mark.parametrize("separator", [";", "\t", "|", "^"])
def test_the_separator_is_the_one_that_parts_most_lines_alike(separator):
    lines = [separator.join(row) for row in [HEADER, *ROWS]]
    shape = shape_of("\n".join(lines).encode())
    assert shape.kind == "delimited"
    assert shape.settings == {"separator": separator, "decimal": ","}
    assert shape.rows.columns == HEADER
    assert shape.rows.height == 4


def test_a_table_that_is_aligned_for_the_eye_is_parted_by_blanks():
    lines = ["".join(cell.ljust(19) for cell in row) for row in [HEADER, *ROWS]]
    shape = shape_of("\n".join(lines).encode())
    assert shape.settings == {"separator": "spaces", "decimal": ","}
    assert shape.rows["Start"].to_list() == ["2026-05-01 08:00"] * 4


def test_the_header_is_found_below_titles_and_a_total_line_is_no_row():
    lines = ["Export", "", ";;;;", *(";".join(row) for row in [HEADER, *ROWS]), "Total: 4"]
    shape = shape_of("\r\n".join(lines).encode("utf-16"))
    assert shape.settings["header_line"] == 4
    assert shape.settings["encoding"] == "utf-16"
    assert shape.settings["skip"] == "^Total"
    assert shape.rows.height == 4


@pytest.mark.parametrize(
    ("write", "kind", "settings"),
    [
        (lambda rows: "\n".join(map(json.dumps, rows)), "jsonlines", {}),
        (json.dumps, "json", {}),
        (lambda rows: json.dumps({"cycles": rows}, indent=1), "json", {"path": "cycles"}),
    ],
)
def test_objects_are_told_from_tables_and_reach_into_one_another(write, kind, settings):
    rows = [{"unit": {"serial": "A-1"}, "no": 7 + i, "ok": None} for i in range(3)]
    shape = shape_of(write(rows).encode())
    assert (shape.kind, shape.settings) == (kind, settings)
    assert shape.rows["unit.serial"].to_list() == ["A-1"] * 3
    assert shape.rows["no"].to_list() == ["7", "8", "9"]
    assert shape.rows["ok"].null_count() == 3


def test_a_workbook_with_merged_titles_has_its_header_below_them():
    data = io.BytesIO()
    book = xlsxwriter.Workbook(data, {"in_memory": True})
    book.add_worksheet("Cover").write(0, 0, "Report")
    sheet = book.add_worksheet("Runs")
    sheet.merge_range(0, 0, 0, 4, "Report of May")
    for i, row in enumerate([HEADER, *ROWS]):
        sheet.write_row(2 + i, 0, row)
    book.close()
    shape = shape_of(data.getvalue())
    assert shape.kind == "spreadsheet"
    assert shape.settings == {"sheet": "Runs", "header_line": 3, "decimal": ","}
    assert shape.rows.columns == HEADER


def test_a_parquet_file_is_told_by_its_mark():
    data = io.BytesIO()
    pl.DataFrame({"Serial": ["A-1"], "No": [7]}).write_parquet(data)
    shape = shape_of(data.getvalue())
    assert shape.kind == "parquet"
    assert shape.rows["No"].to_list() == ["7"]


def test_a_printed_report_is_told_by_its_names_and_values():
    report = "CYCLE REPORT\nSerial : A-1\nCycle : {}\nProgram : wrapped\nResult : OK\n\n"
    shape = shape_of("".join(report.format(7 + i) for i in range(3)).encode())
    assert shape.kind == "printout"
    assert shape.settings["begin"] == r"^\s*CYCLE\ REPORT"
    assert shape.rows["Cycle"].to_list() == ["7", "8", "9"]


@pytest.mark.parametrize("data", [b"", b"\x00\x01\x02", b"just a line\n", b"[1, 2]", b"[" * 5000])
def test_what_has_no_shape_is_given_none(data):
    assert shape_of(data) is None
