"""Lists that a spreadsheet opens: nothing in them is live, and numbers stay numbers."""

from datetime import date, datetime

import pytest

from pipeline.base.csv_text import csv_bytes, guarded, write_csv


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("Gannet Quay", "Gannet Quay"),
        ("", ""),
        ("12 <b>", "12 <b>"),
        # Source: OWASP, CSV Injection.
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("  =1+1", "'  =1+1"),
        ("\t=1+1", "'\t=1+1"),
        ("\r=1+1", "'\r=1+1"),
        ("\uff1d1+1", "'\uff1d1+1"),  # the full-width sign, which some take for the plain one
    ],
)
def test_text_that_a_spreadsheet_would_run_is_guarded(text, printed):
    assert guarded(text) == printed


def test_numbers_days_and_what_is_missing_are_written_as_such():
    data = csv_bytes(("day", "at", "n"), [(date(2026, 1, 2), datetime(2026, 1, 2, 3), -1.5)])
    assert data.decode("utf-8-sig") == (
        '"day","at","n"\r\n"2026-01-02","2026-01-02T03:00:00",-1.5\r\n'
    )
    assert csv_bytes(("a",), [(None,)]).decode("utf-8-sig") == '"a"\r\n""\r\n'


def test_a_list_that_is_written_row_by_row_has_the_same_bytes(tmp_path):
    columns, rows = ("name", "n"), [("=1+1\r\n\u00e9", 1), (None, 2.5)]
    path = write_csv(tmp_path / "list.csv", columns, iter(rows))
    assert path.read_bytes() == csv_bytes(columns, rows)
